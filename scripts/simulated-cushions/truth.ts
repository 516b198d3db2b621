import { closeSync, mkdirSync, openSync, writeSync } from "node:fs";
import { dirname } from "node:path";
import type { Moment } from "./wall-clock.ts";

/** What really happened, told by the simulation and never sent to anybody. */
export type TruthEvent =
  | { readonly what: "sat-down" | "got-up" }
  | {
      readonly what: "relief" | "weight-shift";
      readonly kind: string;
      readonly holdSeconds: number;
      readonly depthPercent: number;
      /** Whether the firmware made anything of it; null while the unit was off. */
      readonly seen: boolean | null;
    }
  | { readonly what: "charger-in" | "charger-out" | "ran-flat" | "switched-off" }
  | { readonly what: "booted"; readonly boot: number; readonly reason: string }
  | { readonly what: "out-of-reach" | "in-reach" }
  | { readonly what: "left-home" | "came-home"; readonly why: string };

export type Truth = TruthEvent & { readonly at: Moment; readonly unit: string };

export interface TruthSink {
  tell(truth: Truth): void;
}

export const noTruth: TruthSink = { tell: () => undefined };

/** Keeps the truth in memory. */
export class TruthList implements TruthSink {
  readonly events: Truth[] = [];
  tell(truth: Truth): void {
    this.events.push(truth);
  }
}

/** One JSON object a line. */
export class TruthFile implements TruthSink {
  readonly #file: number;
  #lines: string[] = [];

  constructor(path: string) {
    mkdirSync(dirname(path), { recursive: true });
    this.#file = openSync(path, "a");
  }

  tell(truth: Truth): void {
    const { at, ...rest } = truth;
    this.#lines.push(JSON.stringify({ at: new Date(at).toISOString(), ...rest }));
    if (this.#lines.length >= 200) this.flush();
  }

  flush(): void {
    if (this.#lines.length === 0) return;
    writeSync(this.#file, `${this.#lines.join("\n")}\n`);
    this.#lines = [];
  }

  close(): void {
    this.flush();
    closeSync(this.#file);
  }
}
