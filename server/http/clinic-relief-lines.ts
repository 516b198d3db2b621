import { reliefWords } from "../../views/charts/day-ribbon.tsx";
import type { LedgerLine } from "../../views/clinic/lines-page.tsx";
import { durationWords } from "../../views/layout/words.ts";
import { reliefQuality } from "../domain/adherence/relief-quality.ts";
import type { LoanId } from "../domain/ids.ts";
import type { RecordedRelief } from "../domain/record/unit-record.ts";
import { instant } from "../domain/units.ts";
import type { LinesAsked } from "./clinic-lines.ts";
import { seatedRuns } from "./clinic-quality.ts";
import { runsOfRow } from "./clinic-runs.ts";

/** What the unit told of one relief. */
export const lineOfRelief = (
  { unitOf, dayOf }: Pick<LinesAsked, "unitOf" | "dayOf">,
  loan: LoanId,
  relief: RecordedRelief,
): LedgerLine => ({
  day: dayOf(relief.at),
  at: relief.at,
  until: null,
  what: reliefWords[relief.kind],
  unit: unitOf(loan),
  why: `held ${Math.round(relief.hold)} s; ${Math.round(100 * relief.depth)}\u00a0% of the load left the relieved side${relief.prompted ? "; prompted" : ""}`,
  href: null,
  counts: true,
});

/** The seated time that makes up the longest sit, unit by unit. */
export function longestLines({ told, unitOf }: LinesAsked): LedgerLine[] {
  const loans = [...new Set(told.ledger.map(({ loanId }) => loanId))];
  return loans.flatMap((loan) => {
    const rows = told.ledger.filter(({ loanId }) => loanId === loan);
    const reliefs = told.reliefs.get(loan) ?? [];
    const { longestWithout: longest } = reliefQuality(reliefs, seatedRuns(rows));
    if (longest === null) return [];
    const began = reliefs.some(({ at }) => at === longest.start) ? "begins after a relief" : "";
    return rows.flatMap((row) =>
      runsOfRow(row)
        .filter(({ state, start, end }) => state === "seated" && start < longest.end && end > longest.start)
        .map(({ start, end }): LedgerLine => {
          const from = instant(Math.max(start, longest.start));
          const until = instant(Math.min(end, longest.end));
          return {
            day: row.day,
            at: from,
            until,
            what: "seated, no relief seen",
            unit: unitOf(loan),
            why: [
              from === longest.start ? began : "goes on from the day before",
              until === longest.end ? endWords(told.ledger, loan, longest.end, reliefs) : "goes on",
            ]
              .filter((words) => words !== "")
              .join("; "),
            href: null,
            counts: true,
          };
        }),
    );
  });
}

/** What ended a sit. */
function endWords(
  ledger: LinesAsked["told"]["ledger"],
  loan: LoanId,
  end: number,
  reliefs: readonly RecordedRelief[],
): string {
  const relief = reliefs.find(({ at, outcome }) => at === end && outcome === "complete");
  if (relief) return `ended by a ${reliefWords[relief.kind]}`;
  const next = ledger
    .filter(({ loanId }) => loanId === loan)
    .flatMap(runsOfRow)
    .find(({ start }) => start === end);
  if (next === undefined) return "";
  switch (next.state) {
    case "off":
    case "on-charge":
      return `ended off the cushion, for ${durationWords(next.end - next.start)}`;
    case "no-record":
    case "awaiting":
    case "not-trusted":
      return "the record ends here: the sit may have gone on";
    case "seated":
    case "outside-loan":
    case "to-come":
      return "";
  }
}
