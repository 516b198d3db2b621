import type { Fault } from "./faults.ts";
import type { Firmware } from "./firmware.ts";
import type { MessageWriter } from "./message-writer.ts";
import type { SensorGrid } from "./sensor-grid.ts";
import type { Moment } from "./wall-clock.ts";

const daySeconds = 86_400;
/** An hour after a boot, so that a unit that keeps resetting isn't always at it. */
const firstTestAfter = 3_600;
const wetFromPercent = 95;
const wetAgainAfterSeconds = 6 * 3_600;
/** Days before its end on which a certificate is told of [FP-5, notice]. */
const noticeDays = [30, 14, 7, 1];

/** What a unit finds out about itself without being asked. */
export class SelfChecks {
  readonly #writer: MessageWriter;
  readonly #firmware: Firmware;
  readonly #grid: SensorGrid;
  readonly #faults: readonly Fault[];
  #lastTest: number | null = null;
  /** Kept over resets: what was told once is told. */
  #failedBefore = false;
  #wetToldAt: number | null = null;
  #certificateEnds: number | null = null;
  #noticed = Number.POSITIVE_INFINITY;

  constructor(writer: MessageWriter, firmware: Firmware, grid: SensorGrid, faults: readonly Fault[]) {
    this.#writer = writer;
    this.#firmware = firmware;
    this.#grid = grid;
    this.#faults = faults;
  }

  get certificateEnds(): number | null {
    return this.#certificateEnds;
  }

  /** A certificate was given, or changed for a new one. */
  certificateIs(notAfterUnixSeconds: number): void {
    this.#certificateEnds = notAfterUnixSeconds;
    this.#noticed = Number.POSITIVE_INFINITY;
  }

  boot(): void {
    this.#lastTest = null;
    this.#wetToldAt = null;
  }

  /** Humidity as the part at the grid reads it. */
  humidityAt(at: Moment, ofTheAir: number): number {
    const isWet = this.#faults.some((fault) => fault.kind === "wet" && fault.from <= at && at < fault.until);
    return isWet ? 98 : ofTheAir;
  }

  minute(at: Moment, uptime: number, humidity: number | null, wallSeconds: number | null): void {
    const due = this.#lastTest === null ? uptime >= firstTestAfter : uptime - this.#lastTest >= daySeconds;
    if (due) {
      this.#lastTest = uptime;
      this.test(at, uptime);
    }
    this.#watchWet(uptime, humidity);
    if (wallSeconds !== null) this.#watchCertificate(uptime, wallSeconds);
  }

  /** @param command id of the command that asked for it */
  test(at: Moment, uptime: number, command?: string): void {
    const outcome = this.#grid.test(at);
    this.#writer.write(
      {
        kind: "self-test",
        atUptimeSeconds: uptime,
        ...outcome,
        ...(command === undefined ? {} : { command }),
      },
      uptime,
    );
    if (!outcome.passed && !this.#failedBefore)
      this.#firmware.alarm("grid-self-test", uptime, outcome.cellsFailed);
    this.#failedBefore = !outcome.passed;
  }

  #watchWet(uptime: number, humidity: number | null): void {
    if (humidity === null || humidity < wetFromPercent) return;
    if (this.#wetToldAt !== null && uptime - this.#wetToldAt < wetAgainAfterSeconds) return;
    this.#wetToldAt = uptime;
    this.#firmware.alarm("wet", uptime, null);
  }

  #watchCertificate(uptime: number, wallSeconds: number): void {
    if (this.#certificateEnds === null) return;
    const daysLeft = (this.#certificateEnds - wallSeconds) / daySeconds;
    const reached = noticeDays.filter((days) => daysLeft <= days).at(-1);
    if (reached === undefined || reached >= this.#noticed) return;
    this.#noticed = reached;
    this.#writer.write(
      { kind: "notice", notice: "certificate-expires", dueUnixSeconds: this.#certificateEnds },
      uptime,
    );
  }
}
