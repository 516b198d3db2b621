import type { UnitSerial } from "../domain/ids.ts";
import { heardSpeaking, noTurns, type Turns, twoDevicesIn } from "../domain/link/turn-taking.ts";
import { instant, millisecondsIn } from "../domain/units.ts";
import type { Told } from "./told-at.ts";

/** Once found, it is told of again as long as it lasts, this often. */
const tellEvery = 10 * millisecondsIn.minute;

/** Follows which boots speak under each unit's name, to tell when two devices do. In memory: it is found anew within the
 *  hour. */
export class TurnWatch {
  readonly #turns = new Map<UnitSerial, Turns>();
  readonly #toldAt = new Map<UnitSerial, number>();
  readonly #found: (unit: UnitSerial, turns: Turns) => void;

  constructor(found: (unit: UnitSerial, turns: Turns) => void) {
    this.#found = found;
  }

  /** @param told of a message that came as soon as it was written */
  heard(unit: UnitSerial, { boot, uptimeSeconds, wallSeconds }: Told): void {
    if (wallSeconds === null) return;
    const writtenAt = instant(wallSeconds * 1_000);
    const spoken = { boot, bootedAt: instant(writtenAt - uptimeSeconds * 1_000), writtenAt };
    const turns = heardSpeaking(this.#turns.get(unit) ?? noTurns, spoken);
    this.#turns.set(unit, turns);
    if (turns.returns.length === 0 || twoDevicesIn(turns) === null) return;
    if (writtenAt - (this.#toldAt.get(unit) ?? 0) < tellEvery) return;
    this.#toldAt.set(unit, writtenAt);
    this.#found(unit, turns);
  }
}
