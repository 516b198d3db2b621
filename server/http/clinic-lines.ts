import type { Figure } from "../../views/clinic/figures.ts";
import type { LedgerLine } from "../../views/clinic/lines-page.tsx";
import type { LoanId } from "../domain/ids.ts";
import type { MinuteState } from "../domain/ledger/minute-state.ts";
import type { Settings } from "../domain/settings.ts";
import type { LocalDay } from "../domain/time/local-day.ts";
import type { Instant } from "../domain/units.ts";
import type { PersonLedgerDay } from "../store/clinic-stretches.ts";
import { observedOf } from "./clinic-adherence.ts";
import { type DueExplained, explainDue } from "./clinic-due-why.ts";
import { lineOfRelief, longestLines } from "./clinic-relief-lines.ts";
import type { PersonDays } from "./clinic-ribbon.ts";
import { runsOfRow } from "./clinic-runs.ts";

export interface LinesAsked {
  readonly figure: Figure;
  readonly told: PersonDays;
  readonly settings: Settings;
  readonly unitOf: (loan: LoanId) => string;
  readonly dayOf: (at: Instant) => LocalDay;
  readonly explained: DueExplained;
}

/** The lines of the ledger that a figure was made of, oldest first: as many, or as long together, as the figure says. */
export function ledgerLines(asked: LinesAsked): LedgerLine[] {
  switch (asked.figure) {
    case "due":
      return dueLines(asked, () => true);
    case "met":
      return dueLines(asked, (outcome) => outcome === "met");
    case "missed":
      return dueLines(asked, (outcome) => outcome === "missed");
    case "untold":
      return dueLines(asked, (outcome) => outcome === "not-assessable");
    case "seated":
      return runLines(asked, ["seated"]);
    case "unknown":
      return runLines(asked, ["no-record", "awaiting", "not-trusted"]);
    case "days":
      return asked.told.ledger.flatMap((row) => dayLine(asked, row));
    case "reliefs":
      return reliefLines(asked, () => true);
    case "left":
      return reliefLines(asked, (kind) => kind === "lean-left");
    case "right":
      return reliefLines(asked, (kind) => kind === "lean-right");
    case "longest":
      return longestLines(asked);
  }
}

const dueLines = (
  { told, unitOf, explained }: LinesAsked,
  keeps: (outcome: "met" | "missed" | "not-assessable") => boolean,
): LedgerLine[] =>
  told.ledger
    .flatMap((row) =>
      explainDue(row, told, explained)
        .filter(({ outcome }) => keeps(outcome))
        .map(({ dueAt, outcome, why, href }) => ({
          day: row.day,
          at: dueAt,
          until: null,
          what: dueWords[outcome],
          unit: unitOf(row.loanId),
          why,
          href,
          counts: true,
        })),
    )
    // A gap's own are worked out after the one that was due beside it.
    .sort((one, other) => one.at - other.at);

const dueWords = {
  met: "due and met",
  missed: "due, none seen",
  "not-assessable": "can't be told",
} as const;

export const stateWords: Readonly<Record<MinuteState, string>> = {
  seated: "seated",
  off: "off the cushion",
  "on-charge": "on charge",
  "not-trusted": "recorded, not to be trusted",
  awaiting: "still expected from the unit",
  "no-record": "no record",
  "outside-loan": "outside the loan",
  "to-come": "to come",
};

const runLines = ({ told, unitOf, explained }: LinesAsked, states: readonly MinuteState[]): LedgerLine[] =>
  told.ledger.flatMap((row) =>
    runsOfRow(row)
      .filter(({ state }) => states.includes(state))
      .map(({ state, start, end }) => {
        const stretch = explained.stretchAt(row.loanId, start, end);
        return {
          day: row.day,
          at: start,
          until: end,
          what: stateWords[state],
          unit: unitOf(row.loanId),
          why: stretch?.words ?? "",
          href: stretch?.href ?? null,
          counts: true,
        };
      }),
  );

function dayLine({ unitOf, settings }: LinesAsked, row: PersonLedgerDay): LedgerLine[] {
  const { observed, onLoan } = observedOf(row);
  if (onLoan === 0) return [];
  const share = observed / onLoan;
  const counts = share >= settings.dayCountsFromShare;
  const whole = (part: number): string => `${Math.floor(part * 100)}\u00a0%`;
  return [
    {
      day: row.day,
      at: null,
      until: null,
      what: counts ? "counts" : "doesn't count",
      unit: unitOf(row.loanId),
      why: `${whole(share)} of its loan time has a known state; a day counts from ${whole(settings.dayCountsFromShare)}`,
      href: null,
      counts,
    },
  ];
}

const reliefLines = (asked: LinesAsked, keeps: (kind: string) => boolean): LedgerLine[] =>
  [...asked.told.reliefs].flatMap(([loan, reliefs]) =>
    reliefs
      .filter(({ outcome, kind }) => outcome === "complete" && keeps(kind))
      .map((relief) => lineOfRelief(asked, loan, relief)),
  );
