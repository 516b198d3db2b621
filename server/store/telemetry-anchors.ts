import type { UnitSerial } from "../domain/ids.ts";
import type { BootAnchor } from "../domain/time/boot-anchor.ts";
import { seconds } from "../domain/units.ts";
import { bootKey, Remembered } from "./telemetry-remembered.ts";
import type { TelemetryStatements } from "./telemetry-statements.ts";

const mostBoots = 50_000;

/** When each boot began, as far as known: asked for with every message, changed seldom. */
export class BootAnchors {
  readonly #statements: TelemetryStatements;
  readonly #known = new Remembered<BootAnchor>(mostBoots);

  constructor(statements: TelemetryStatements) {
    this.#statements = statements;
  }

  of(unit: UnitSerial, boot: number): BootAnchor | null {
    const known = this.#known.get(bootKey(unit, boot));
    if (known !== undefined) return known;
    const row = this.#statements.anchorOf.get(unit, boot);
    if (row === undefined) return null;
    const anchor: BootAnchor = { bootedAt: row.bootedAt, error: seconds(row.errorSeconds), basis: row.basis };
    this.#known.set(bootKey(unit, boot), anchor);
    return anchor;
  }

  save(unit: UnitSerial, boot: number, anchor: BootAnchor): void {
    const before = this.of(unit, boot);
    const { bootedAt, error, basis } = anchor;
    if (before?.bootedAt === bootedAt && before.error === error && before.basis === basis) return;
    this.#statements.saveAnchor.run(unit, boot, bootedAt, error, basis);
    this.#known.set(bootKey(unit, boot), anchor);
  }

  forget(): void {
    this.#known.clear();
  }
}
