import type { UnitSerial } from "../domain/ids.ts";
import { type Instant, millisecondsIn } from "../domain/units.ts";
import type { TelemetryStatements } from "./telemetry-statements.ts";

/** While many units report, each once a minute, writing down when each was heard would touch a page for every message.
 *  So within this time only the first few are written at once, and all the others together at its end. A stop in
 *  between loses only how lately a unit was heard. */
const window = 10 * millisecondsIn.second;
const atOnceWithinWindow = 50;

export class HeardLately {
  readonly #statements: TelemetryStatements;
  readonly #waiting = new Map<UnitSerial, Instant>();
  #windowStart = Number.NEGATIVE_INFINITY;
  #leftAtOnce = 0;
  #wrote: { readonly at: number; readonly units: number } | null = null;

  constructor(statements: TelemetryStatements) {
    this.#statements = statements;
  }

  get waiting(): number {
    return this.#waiting.size;
  }

  note(unit: UnitSerial, at: Instant): void {
    const last = this.#waiting.get(unit);
    if (last === undefined || at > last) this.#waiting.set(unit, at);
  }

  /** Call in a transaction, and `committed` or `failed` after it. */
  writeIfDue(now: number): void {
    const isDue = Math.abs(now - this.#windowStart) >= window || this.#waiting.size <= this.#leftAtOnce;
    if (isDue) this.writeAll(now);
  }

  /** As `writeIfDue`, due or not. */
  writeAll(now: number): void {
    for (const [unit, at] of this.#waiting) this.#statements.heardFrom.run(at, unit);
    this.#wrote = { at: now, units: this.#waiting.size };
  }

  committed(): void {
    if (this.#wrote === null) return;
    const { at, units } = this.#wrote;
    this.#wrote = null;
    this.#waiting.clear();
    if (Math.abs(at - this.#windowStart) >= window) {
      this.#windowStart = at;
      this.#leftAtOnce = atOnceWithinWindow;
    }
    this.#leftAtOnce -= units;
  }

  failed(): void {
    this.#wrote = null;
  }
}
