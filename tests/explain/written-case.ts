import { mkdtempSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";

const base = {
  loaded: true,
  power: "on-battery",
  loadHectograms: 640,
  centreRightPercent: 3,
  centreFrontPercent: -5,
  cellMillivolts: 3_900,
  temperatureDecicelsius: 290,
  signalDecibelMilliwatts: -60,
};

/** Writes the lines of one boot of one unit, as a stranger with FORMAT.md would. */
export class WrittenUnit {
  readonly lines: string[] = [];
  #sequence = 0;
  #uptime = 0;

  private readonly unit: string;
  private readonly boot: number;
  private readonly bootedAt: number;

  constructor(unit: string, boot: number, bootedAt: number, reset = "power-on") {
    this.unit = unit;
    this.boot = boot;
    this.bootedAt = bootedAt;
    const about = { firmware: "1.0.0", hardware: "A", reset, rows: 8, columns: 8 };
    this.#write({ kind: "hello", ...about, pitchMillimetres: 50, queued: 0 }, null);
  }

  get now(): number {
    return this.bootedAt + this.#uptime * 1_000;
  }

  /** `count` minutes, ten a message. @param late when they arrive, if not as they are written */
  minutes(count: number, like: object, late: number | null = null): this {
    for (let left = count; left > 0; left -= 10) {
      const firstUptimeSeconds = this.#uptime;
      const length = Math.min(10, left);
      this.#uptime += length * 60;
      const minutes = Array.from({ length }, () => ({ ...base, ...like }));
      this.#write({ kind: "minutes", firstUptimeSeconds, minutes }, late);
    }
    return this;
  }

  /** `count` minutes, ten a message, numbered and never to come. @returns their sequences */
  unsent(count: number): { boot: number; fromSequence: number; toSequence: number } {
    const fromSequence = this.#sequence;
    this.#sequence += Math.ceil(count / 10);
    this.#uptime += count * 60;
    return { boot: this.boot, fromSequence, toSequence: this.#sequence - 1 };
  }

  overrun(lost: { boot: number; fromSequence: number; toSequence: number }): this {
    const told = { fault: "store-overrun", atUptimeSeconds: this.#uptime, value: null };
    this.#write({ kind: "fault", ...told, lost }, null);
    return this;
  }

  cutOff(late: number | null = null): this {
    const told = { fault: "battery-cut-off", atUptimeSeconds: this.#uptime, lost: null, value: 3_150 };
    this.#write({ kind: "fault", ...told }, late);
    return this;
  }

  /** Sits for `hours`, leaning left for two minutes every 25. */
  sits(hours: number, late: number | null = null): this {
    for (let left = hours * 60; left > 0; left -= 25) {
      this.minutes(Math.min(25, left), {}, late);
      const startUptimeSeconds = this.#uptime - 130;
      const relief = { relief: "lean-left", startUptimeSeconds, holdSeconds: 125, depthPercent: 80 };
      this.#write({ kind: "relief", ...relief, complete: true, prompted: false }, late);
    }
    return this;
  }

  #write(body: object, late: number | null): void {
    const { unit, boot } = this;
    const wallSeconds = Math.floor(this.now / 1_000);
    const envelope = { unit, boot, sequence: this.#sequence++, uptimeSeconds: this.#uptime, wallSeconds };
    const receivedAt = new Date(late ?? this.now + 2_000).toISOString();
    this.lines.push(JSON.stringify({ receivedAt, message: { ...body, ...envelope } }));
  }
}

/** A cushion of no maker: any would do. */
export const writtenModel = {
  id: "M",
  widthMillimetres: 430,
  depthMillimetres: 430,
  rows: 8,
  columns: 8,
  pitchMillimetres: 50,
  ratedMilliampHours: 2_000,
  weightLimitKilograms: 120,
};

export const at = (text: string): number => Date.parse(text);

export function caseFolder(manifest: unknown, lines: readonly string[]): string {
  const folder = mkdtempSync(join(tmpdir(), "cushionry-written-"));
  writeFileSync(join(folder, "manifest.json"), JSON.stringify(manifest));
  writeFileSync(join(folder, "messages.jsonl"), `${lines.join("\n")}\n`);
  return folder;
}
