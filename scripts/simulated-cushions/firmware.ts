import type { FaultCode, MinuteRecord, ResetReason } from "../../firmware-protocol/src/messages.ts";
import type { GreetingDetails } from "./greeting.ts";
import type { MessageWriter, PlanInForce } from "./message-writer.ts";
import { PromptWatch } from "./prompt-watch.ts";
import { blended, detectRelief, type SeatSums, sumSeat } from "./relief-detection.ts";
import { ReliefWatch } from "./relief-watch.ts";
import type { GridModel } from "./seat-load.ts";
import type { Senses } from "./senses.ts";
import { countsPerKilogram } from "./sensor-grid.ts";

export interface FirmwareIdentity {
  readonly firmware: string;
  readonly hardware: string;
  readonly grid: GridModel;
  readonly offsets: Float64Array;
}

const loadedFromKilograms = 15;
const emptyBelowKilograms = 12;
/** Readings settle about 6 minutes after sitting down (Am J Occup Ther 2002 56:185). */
const settleMinutes = 6;
const minutesBetweenFrames = 30;
const shortestHoldSeconds = 5;
const promptCountsForSeconds = 300;
/** A sit that is broken for this long starts the relief interval again. */
const sufficientOffMinutes = 2;

/** Turns what a unit senses into what it says. It sees the grid and nothing else: what is broken there is broken here. */
export class Firmware {
  readonly #writer: MessageWriter;
  readonly #identity: FirmwareIdentity;
  readonly #prompts: PromptWatch;
  readonly #reliefs: ReliefWatch;
  #plan: PlanInForce = null;
  #reset: ResetReason = "unknown";
  #loaded = false;
  #rest: SeatSums | null = null;
  #minutesInState = 0;
  #lastOffload = 0;
  #lastPrompt: number | null = null;
  /** What was sensed last; null before the first minute of a boot. */
  #last: Senses | null = null;

  constructor(writer: MessageWriter, identity: FirmwareIdentity) {
    this.#writer = writer;
    this.#identity = identity;
    this.#prompts = new PromptWatch(writer);
    this.#reliefs = new ReliefWatch(writer, this.#prompts);
  }

  /** @param plan null: none is in force, and the unit doesn't prompt */
  follow(plan: PlanInForce): void {
    this.#plan = plan;
  }

  /** A plan came over the air: one older than the plan held is out of date [FP-7.5]. */
  hear(plan: Exclude<PlanInForce, null>): void {
    if (this.#plan === null || plan.version >= this.#plan.version) this.#plan = plan;
  }

  boot(reset: ResetReason, clockSet: boolean, details: GreetingDetails): void {
    this.#writer.startBoot();
    this.#reset = reset;
    this.hello(0, details);
    // The very first boot never had a time to lose.
    if (!clockSet && this.#writer.boot > 1) this.#fault("clock-lost", 0, null);
    this.#forgetPerson();
    this.#lastOffload = 0;
    this.#last = null;
  }

  /** Its plan, and what it learned of who sat on it. */
  forget(): void {
    this.#plan = null;
    this.#forgetPerson();
  }

  #forgetPerson(): void {
    this.#loaded = false;
    this.#rest = null;
    this.#minutesInState = 0;
    this.#lastPrompt = null;
    this.#prompts.boot();
    this.#reliefs.boot();
  }

  /** A picture because somebody asked for one.
   *  @returns false before anything was sensed in this boot */
  picture(uptime: number): boolean {
    if (this.#last === null) return false;
    this.#frame(uptime - 1, this.#last);
    return true;
  }

  /** @returns whether a plan of this version, or a newer one, is in force */
  follows(version: number): boolean {
    return this.#plan !== null && this.#plan.version >= version;
  }

  /** First word of a boot, and again when the unit has been out of touch for long [FP-5]. */
  hello(uptime: number, details: GreetingDetails): void {
    const { firmware, hardware, grid } = this.#identity;
    this.#writer.write(
      { kind: "hello", firmware, hardware, reset: this.#reset, ...grid, ...details },
      uptime,
    );
  }

  /** One minute is over; it began at `uptime`.
   *  @returns whether the unit prompted its person in it */
  minute(uptime: number, senses: Senses): { readonly prompted: boolean; readonly seen: boolean } {
    this.#last = senses;
    const sums = this.#sum(senses.counts);
    this.#updateSeat(sums, uptime, senses);
    this.#writer.addMinute(this.#record(sums, senses), uptime);
    const seen = this.#watchMovement(senses);
    this.#lastOffload = this.#reliefs.finish(uptime + 60, this.#loaded) ?? this.#lastOffload;
    this.#prompts.minute(uptime + 60, this.#reliefs.underWay);
    return { prompted: this.#promptIfDue(uptime + 60), seen };
  }

  report(uptime: number): void {
    this.#writer.flushMinutes(uptime);
  }

  cutOff(uptime: number, millivolts: number): void {
    this.#reliefs.powerLost(uptime);
    this.#writer.flushMinutes(uptime);
    this.#fault("battery-cut-off", uptime, Math.round(millivolts));
  }

  /** The grid is wet, or its own test of it failed for the first time. */
  alarm(fault: "wet" | "grid-self-test", uptime: number, value: number | null): void {
    this.#fault(fault, uptime, value);
  }

  #fault(fault: FaultCode, uptime: number, value: number | null): void {
    this.#writer.write({ kind: "fault", fault, atUptimeSeconds: uptime, lost: null, value }, uptime);
  }

  #sum(counts: Uint8Array): SeatSums {
    return sumSeat(counts, this.#identity.offsets, this.#identity.grid, countsPerKilogram);
  }

  #updateSeat(sums: SeatSums, uptime: number, senses: Senses): void {
    const was = this.#loaded;
    this.#loaded = was ? sums.total >= emptyBelowKilograms : sums.total >= loadedFromKilograms;
    this.#minutesInState = was === this.#loaded ? this.#minutesInState + 1 : 0;
    if (!this.#loaded) {
      this.#rest = null;
      if (this.#minutesInState >= sufficientOffMinutes) this.#lastOffload = uptime + 60;
      if (this.#minutesInState === 1) this.#frame(uptime, senses);
      return;
    }
    this.#rest = this.#rest === null ? sums : blended(this.#rest, sums);
    const sinceSettled = this.#minutesInState - settleMinutes;
    if (sinceSettled >= 0 && sinceSettled % minutesBetweenFrames === 0) this.#frame(uptime, senses);
  }

  #frame(uptime: number, senses: Senses): void {
    const { rows, columns } = this.#identity.grid;
    this.#writer.write(
      {
        kind: "frame",
        takenUptimeSeconds: uptime,
        loaded: this.#loaded,
        rows,
        columns,
        temperatureDecicelsius: Math.round(senses.celsius * 10),
        cells: senses.counts,
      },
      uptime + 1,
    );
  }

  #record(sums: SeatSums, senses: Senses): MinuteRecord {
    return {
      loaded: this.#loaded,
      power: senses.power,
      loadHectograms: Math.max(0, Math.round(sums.total * 10)),
      centreRightPercent: this.#loaded ? sums.centreRight : 0,
      centreFrontPercent: this.#loaded ? sums.centreFront : 0,
      cellMillivolts: Math.round(senses.cellMillivolts),
      temperatureDecicelsius: Math.round(senses.celsius * 10),
      signalDecibelMilliwatts: senses.signal,
      ...(senses.humidity === null ? {} : { humidityPercent: senses.humidity }),
    };
  }

  #watchMovement(senses: Senses): boolean {
    const { movement } = senses;
    if (!movement || !this.#loaded || !this.#rest || movement.seconds < shortestHoldSeconds) return false;
    const moved = this.#sum(movement.counts);
    const seen = detectRelief(this.#rest, moved);
    if (!seen) return false;
    const sincePrompt = this.#lastPrompt === null ? null : movement.startUptime - this.#lastPrompt;
    this.#reliefs.begin({
      kind: "relief",
      relief: seen.kind,
      startUptimeSeconds: movement.startUptime,
      holdSeconds: movement.seconds,
      depthPercent: Math.round(seen.depth * 100),
      complete: movement.seconds >= (this.#plan?.holdSeconds ?? shortestHoldSeconds),
      sideLoadPercent: {
        left: shareLeft(moved.left, this.#rest.left),
        right: shareLeft(moved.right, this.#rest.right),
      },
      prompted: sincePrompt !== null && sincePrompt >= 0 && sincePrompt <= promptCountsForSeconds,
    });
    return true;
  }

  #promptIfDue(now: number): boolean {
    if (!this.#plan || !this.#loaded || this.#reliefs.underWay.length > 0) return false;
    const since = Math.max(this.#lastOffload, this.#lastPrompt ?? 0);
    if (now - since < this.#plan.intervalMinutes * 60) return false;
    this.#lastPrompt = now;
    this.#prompts.given(now, this.#plan.version);
    return true;
  }
}

/** Per cent of what the side carried at rest, within what the protocol can say. */
const shareLeft = (now: number, rest: number): number =>
  rest <= 0 ? 0 : Math.min(200, Math.max(0, Math.round((100 * now) / rest)));
