import type { LoanId, RecallId, UnitSerial, VisitId } from "../ids.ts";
import type { LocalDay } from "../time/local-day.ts";
import type { Instant } from "../units.ts";

interface OfLoan {
  readonly loan: LoanId;
  readonly reference: string;
  readonly unit: UnitSerial;
  readonly borrower: string;
  /** Since when it has been waiting. */
  readonly since: Instant;
}

/** One thing that Stores has to get moving. */
export type StoresTask =
  | {
      readonly kind: "recall-outstanding";
      readonly recall: RecallId;
      readonly reference: string;
      readonly title: string;
      readonly outstanding: number;
      readonly affected: number;
      readonly since: Instant;
    }
  | {
      readonly kind: "recall-to-close";
      readonly recall: RecallId;
      readonly reference: string;
      readonly title: string;
      readonly since: Instant;
    }
  | (OfLoan & {
      readonly kind: "visit";
      readonly visit: VisitId;
      readonly task: "swap" | "collection";
      readonly day: LocalDay;
      readonly overdue: boolean;
      readonly doneBy: string;
      readonly replacement: UnitSerial | null;
    })
  | (OfLoan & {
      readonly kind: "no-access";
      readonly task: "swap" | "collection";
      readonly day: LocalDay;
      /** As noted on the loan for now. */
      readonly away: "hospital" | "holiday" | null;
    })
  | (OfLoan & { readonly kind: "quiet"; readonly phone: string; readonly test: string })
  | (OfLoan & {
      readonly kind: "hand-out";
      readonly code:
        | { readonly state: "none" }
        /** A recall holds the unit back: it must not go out. */
        | { readonly state: "barred"; readonly recalls: readonly string[] }
        | { readonly state: "usable"; readonly until: Instant }
        | { readonly state: "expired"; readonly at: Instant };
    })
  | (OfLoan & { readonly kind: "due-back"; readonly day: LocalDay; readonly overdue: boolean })
  | (OfLoan & { readonly kind: "coming-back" });

/** Harm first: a person may be sitting on a unit that should be taken back; then a person who waits for a unit; then a
 *  record that is being lost; then equipment that only waits. The order is our convention. */
const harm = {
  "recall-outstanding": 0,
  visit: 1,
  "no-access": 2,
  quiet: 3,
  "hand-out": 4,
  "due-back": 5,
  "recall-to-close": 6,
  "coming-back": 7,
} as const satisfies Record<StoresTask["kind"], number>;

/** Most harm first; what has waited longest first among equals. */
export function inOrderOfHarm(tasks: readonly StoresTask[]): readonly StoresTask[] {
  return [...tasks].sort((a, b) => harm[a.kind] - harm[b.kind] || a.since - b.since);
}
