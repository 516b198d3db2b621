import { type Moment, second } from "./wall-clock.ts";

/** Set by a receipt only when it is wrong by more than this: a message takes a while to travel. */
const toleranceSeconds = 2;

/** What a unit knows of time: seconds since its boot, counted by a crystal that runs a little fast or slow, and a
 *  time of day that it was told. */
export class UnitClock {
  readonly #driftPartsPerMillion: number;
  #bootedAt: Moment;
  /** Unix seconds at uptime zero; null while the time of day is not known. */
  #wallAtBoot: number | null = null;

  constructor(driftPartsPerMillion: number, bootedAt: Moment) {
    this.#driftPartsPerMillion = driftPartsPerMillion;
    this.#bootedAt = bootedAt;
  }

  get isSet(): boolean {
    return this.#wallAtBoot !== null;
  }

  uptimeAt(at: Moment): number {
    return Math.floor(((at - this.#bootedAt) / second) * this.#rate);
  }

  /** True time at which this uptime is reached. */
  trueTimeOf(uptimeSeconds: number): Moment {
    return this.#bootedAt + (uptimeSeconds * second) / this.#rate;
  }

  wallSecondsAt(uptimeSeconds: number): number | null {
    return this.#wallAtBoot === null ? null : Math.floor(this.#wallAtBoot + uptimeSeconds);
  }

  /** A receipt arrived, with the server's time in it. */
  set(serverUnixSeconds: number, at: Moment): void {
    const uptime = this.uptimeAt(at);
    const shown = this.wallSecondsAt(uptime);
    if (shown === null || Math.abs(shown - serverUnixSeconds) > toleranceSeconds) {
      this.#wallAtBoot = serverUnixSeconds - uptime;
    }
  }

  /** Uptime starts again. The time of day runs on over a reset, and dies with the battery. */
  restart(at: Moment, lostPower: boolean): void {
    const wall = this.wallSecondsAt(this.uptimeAt(at));
    this.#bootedAt = at;
    this.#wallAtBoot = lostPower ? null : wall;
  }

  get #rate(): number {
    return 1 + this.#driftPartsPerMillion / 1_000_000;
  }
}
