import type { JudgedStretch } from "../store/clinic-stretches.ts";
import type { DueExplained } from "./clinic-due-why.ts";

/** Finds the gap that a time of a loan lies in or touches; of several, the one that began last. */
export const stretchFinder =
  (stretches: readonly JudgedStretch[]): DueExplained["stretchAt"] =>
  (loan, start, end) => {
    const found = stretches.findLast(
      ({ kind, loanId, startsAt, endsAt }) =>
        kind === "gap" && loanId === loan && startsAt < end && (endsAt === null || endsAt > start),
    );
    return found
      ? { words: found.verdict?.sentence ?? "Not judged yet.", href: `/clinic/gaps/${found.id}` }
      : null;
  };
