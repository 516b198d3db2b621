import type { DownlinkMessage } from "../../firmware-protocol/src/downlink.ts";
import type { UnreadableCommand } from "../../firmware-protocol/src/unreadable-command.ts";
import { Battery } from "./battery.ts";
import { kilogramsPerCell, type RigLoad } from "./bench-rig.ts";
import type { CushionSpec } from "./cushion-spec.ts";
import type { Deliverable } from "./delivery.ts";
import { MessageWriter } from "./message-writer.ts";
import { Obedience } from "./obedience.ts";
import { SensorGrid } from "./sensor-grid.ts";
import { MessageStore } from "./store.ts";
import { UnitClock } from "./unit-clock.ts";
import { type Moment, minute } from "./wall-clock.ts";

const loadedFromKilograms = 15;
const roomCelsius = 22;
/** Switched on a little before it is asked anything: its first minutes are over. */
const switchedOnBefore = 2 * minute;

/** A cushion on a bench under a rig: the same grid, faults, memory and protocol as in a home, and a load that is put on
 *  it. It reads its grid anew for every picture it is asked for. */
export class BenchedCushion implements Deliverable {
  readonly store: MessageStore;
  readonly spec: CushionSpec;
  readonly #grid: SensorGrid;
  readonly #battery: Battery;
  readonly #clock: UnitClock;
  readonly #writer: MessageWriter;
  readonly #obedience: Obedience;
  #load: RigLoad = { kind: "nothing" };
  #loadedAt: Moment;
  #celsius = roomCelsius;
  #pictures = 0;
  #certificateEnds: number | null = null;

  /** @param seed the one it had in a home makes the same grid
   *  @param bootsBefore a boot number is never used twice (FP-4.4) */
  constructor(spec: CushionSpec, seed: string, startsAt: Moment, bootsBefore: number) {
    const own = `${seed}/${spec.serial}`;
    this.spec = spec;
    this.#grid = new SensorGrid(spec.grid, spec.faults, own);
    this.#battery = new Battery(spec.battery);
    this.store = new MessageStore(spec.storeLimit);
    this.#clock = new UnitClock(spec.clockDriftPartsPerMillion, startsAt - switchedOnBefore);
    this.#writer = new MessageWriter(spec.serial, this.#clock, this.store, bootsBefore);
    this.#obedience = new Obedience(this.#writer, this.store, this.#clock, {
      picture: (at, uptime) => this.#picture(at, uptime),
      report: (at, uptime) => {
        this.greet(at);
        this.#minute(at, uptime);
      },
      selfTest: (at, uptime, command) =>
        this.#writer.write(
          { kind: "self-test", atUptimeSeconds: uptime, command, ...this.#grid.test(at) },
          uptime,
        ),
      // Nobody sits on a bench: it is given no plan there, and learns nothing of anybody.
      follows: () => false,
      forgetAll: () => undefined,
    });
    this.#loadedAt = startsAt;
    this.#writer.startBoot();
    this.greet(startsAt);
  }

  get pictures(): number {
    return this.#pictures;
  }

  put(load: RigLoad, at: Moment): void {
    this.#load = load;
    this.#loadedAt = at;
  }

  warm(celsius: number): void {
    this.#celsius = celsius;
  }

  certificateIs(notAfterUnixSeconds: number): void {
    this.#certificateEnds = notAfterUnixSeconds;
  }

  /** Nobody sits on a bench: there is nothing to remind of. */
  follow(): void {}

  mayDeliver(): boolean {
    return true;
  }

  greet(at: Moment): void {
    const { firmware, hardware, grid } = this.spec;
    const uptime = this.#clock.uptimeAt(at);
    const ends = this.#certificateEnds;
    this.#writer.write(
      {
        kind: "hello",
        firmware,
        hardware,
        reset: "power-on",
        ...grid,
        queued: this.store.length,
        ...(ends === null ? {} : { certificateNotAfter: ends }),
      },
      uptime,
    );
  }

  receive(message: DownlinkMessage, at: Moment, request: Uint8Array | null = null): void {
    if (message.kind === "receipt") {
      this.store.forget(message);
      this.#clock.set(message.serverUnixSeconds, at);
    }
    if (message.kind === "command") this.#obedience.take(message, at, request);
    if (message.kind === "receipt") this.#obedience.receipted(at);
  }

  receiveUnreadable(command: UnreadableCommand, at: Moment): void {
    this.#obedience.refuse(command, at);
  }

  #kilograms(): Float64Array {
    return kilogramsPerCell(this.spec.grid, this.#load);
  }

  #sum(): number {
    return this.#kilograms().reduce((sum, kilograms) => sum + kilograms, 0);
  }

  #picture(at: Moment, uptime: number): boolean {
    this.#pictures += 1;
    const { rows, columns } = this.spec.grid;
    const cells = this.#grid.readPressed(this.#kilograms(), {
      at,
      minutes: Math.max(0, (at - this.#loadedAt) / minute),
      celsius: this.#celsius,
    });
    this.#writer.write(
      {
        kind: "frame",
        takenUptimeSeconds: uptime,
        loaded: this.#sum() >= loadedFromKilograms,
        rows,
        columns,
        temperatureDecicelsius: Math.round(this.#celsius * 10),
        cells,
      },
      uptime,
    );
    return true;
  }

  #minute(at: Moment, uptime: number): void {
    this.#battery.step(60, "empty", false, false);
    const kilograms = this.#sum();
    this.#writer.addMinute(
      {
        loaded: kilograms >= loadedFromKilograms,
        power: "on-battery",
        loadHectograms: Math.round(kilograms * 10),
        centreRightPercent: 0,
        centreFrontPercent: 0,
        cellMillivolts: Math.round(this.#battery.millivolts),
        temperatureDecicelsius: Math.round(this.#celsius * 10),
        signalDecibelMilliwatts: -55,
      },
      uptime - 60,
    );
    this.#writer.flushMinutes(this.#clock.uptimeAt(at));
  }
}
