import type { Moment } from "../simulated-cushions/wall-clock.ts";
import type { BorrowerKey, StaffKey } from "./invented-cast.ts";
import type { PlanAsked } from "./story.ts";

/** What people of the programme do, played through the same functions that the console's pages call. */
export type ProgrammeAct =
  | { readonly kind: "set-up" }
  | {
      readonly kind: "lend";
      readonly borrower: BorrowerKey;
      readonly serial: string;
      readonly plan: PlanAsked;
      readonly weightKilograms: number;
    }
  | {
      readonly kind: "note";
      readonly borrower: BorrowerKey;
      readonly note: "hospital" | "holiday" | "washed-cover" | "call" | "other";
      readonly from: Moment;
      readonly until: Moment | null;
      readonly text: string;
      readonly by: StaffKey;
    }
  | {
      readonly kind: "swap";
      readonly borrower: BorrowerKey;
      readonly replacement: string;
      readonly reason: string;
    }
  | {
      readonly kind: "plan-visit";
      readonly borrower: BorrowerKey;
      readonly replacement: string | null;
      readonly daysAhead: number;
      readonly doneBy: StaffKey;
      readonly reason: string;
    }
  | { readonly kind: "open-recall"; readonly lot: string; readonly title: string; readonly advice: string }
  | {
      readonly kind: "recall-outcome";
      readonly serial: string;
      readonly outcome: "corrected-in-place" | "quarantined";
      readonly evidence: string;
    }
  | {
      readonly kind: "move";
      readonly serial: string;
      readonly from: "coming-back" | "in-stock";
      readonly to: "quarantine";
    }
  | BenchAct;

/** A technician in the guided session of a unit: begins it, asks for the next reading, keeps what came, ends it. */
export interface BenchAct {
  readonly kind: "bench";
  readonly what: "begin" | "ask" | "keep" | "finish";
  readonly serial: string;
}

export interface StartRequest {
  readonly dataFolder: string;
  readonly port: number;
  readonly mqttPort: number;
  readonly zone: string;
}

export type DemoCommand =
  | { readonly kind: "start"; readonly request: StartRequest }
  /** Stops the whole service, as a power cut at the programme's office would. */
  | { readonly kind: "stop" }
  /** null: the computer's own clock. */
  | { readonly kind: "clock"; readonly at: Moment | null }
  /** Brings ledgers and verdicts up to date, and on request the health of every unit. */
  | { readonly kind: "review"; readonly health: boolean }
  | { readonly kind: "act"; readonly act: ProgrammeAct };

/** What a command answers with; an act that lends a unit answers with its pairing code, as drawn. */
export interface DemoAnswer {
  readonly url?: string;
  readonly mqttPort?: number;
  readonly pairingPicture?: string;
  /** Whether all that was asked for had come. */
  readonly kept?: boolean;
}

export interface NumberedCommand {
  readonly id: number;
  readonly command: DemoCommand;
}
export type NumberedAnswer =
  | { readonly id: number; readonly ok: true; readonly answer: DemoAnswer }
  | { readonly id: number; readonly ok: false; readonly problem: string };
