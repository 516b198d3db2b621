import type { LocalDay } from "../../server/domain/time/local-day.ts";
import type { Instant } from "../../server/domain/units.ts";

/** A loan as the pages of this desk show it. */
export interface LoanFacts {
  readonly id: string;
  readonly reference: string;
  readonly unitSerial: string;
  readonly modelName: string;
  readonly size: string;
  readonly lotId: string;
  readonly borrowerId: string;
  readonly borrowerName: string;
  readonly phone: string;
  readonly address: string;
  readonly area: string;
  readonly openedAt: Instant;
  readonly startedAt: Instant | null;
  readonly dueBackOn: LocalDay | null;
  readonly endedAt: Instant | null;
  readonly endReason: string | null;
}

export interface LoanVisit {
  readonly id: string;
  readonly kind: "swap" | "collection";
  readonly day: LocalDay;
  readonly doneByName: string;
  readonly replacementSerial: string | null;
}

export const visitWords = (visit: Pick<LoanVisit, "kind" | "replacementSerial">): string =>
  visit.kind === "swap" ? `Swap for ${visit.replacementSerial ?? "another unit"}` : "Collection";
