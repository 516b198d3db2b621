import type { ReliefCounts } from "../../server/domain/adherence/bounds.ts";
import type { Comparison } from "../../server/domain/adherence/compare-periods.ts";
import type { LocalDay } from "../../server/domain/time/local-day.ts";
import { dayWords } from "../layout/words.ts";
import type { ClinicFrame } from "./frame.ts";
import { betweenPoints, fewerSeen, points } from "./points-words.ts";
import { shareWords } from "./share-words.ts";

export interface PeriodShown {
  readonly first: LocalDay;
  readonly last: LocalDay;
  readonly daysCounted: number;
  readonly counts: ReliefCounts;
  readonly share: { readonly low: number; readonly seen: number | null; readonly high: number } | null;
}

export interface ComparisonShown {
  readonly these: PeriodShown;
  readonly others: PeriodShown;
  readonly daysNeeded: number;
  readonly dueNeeded: number;
  readonly outcome: Comparison | { readonly kind: "other-unit" } | { readonly kind: "other-plan" };
}

interface ComparisonPartProps {
  readonly shown: ComparisonShown;
  readonly frame: ClinicFrame;
  readonly path: string;
}

/** Two periods side by side; said to differ only by the interval of their difference. */
export function ComparisonPart({ shown, frame, path }: ComparisonPartProps) {
  const { these, others } = shown;
  return (
    <section id="comparison">
      <h2>Beside other days</h2>
      <p>{outcomeWords(shown)}</p>
      <div class="wide">
        <table class="ledger stacks">
          <caption>
            Whether the two shares overlap decides nothing; only the interval of their difference does
          </caption>
          <thead>
            <tr>
              <th scope="col">Days</th>
              <th scope="col" class="number">
                Days that count
              </th>
              <th scope="col" class="number">
                Met, of those seen
              </th>
              <th scope="col">Share met</th>
            </tr>
          </thead>
          <tbody>
            {[others, these].map((period) => (
              <Period period={period} />
            ))}
          </tbody>
        </table>
      </div>
      <details class="screen-only">
        <summary>Beside which other days</summary>
        <form method="get" action={`${path}#comparison`}>
          {frame.knownOn === null ? null : <input type="hidden" name="asKnownOn" value={frame.knownOn} />}
          <input type="hidden" name="from" value={these.first} />
          <input type="hidden" name="to" value={these.last} />
          <label for="beside-from">From</label>{" "}
          <input id="beside-from" name="besideFrom" type="date" value={others.first} required />{" "}
          <label for="beside-to">to</label>{" "}
          <input id="beside-to" name="besideTo" type="date" value={others.last} required />{" "}
          <button type="submit" class="quiet">
            Compare with these
          </button>
        </form>
      </details>
    </section>
  );
}

function Period({ period: { first, last, daysCounted, counts, share } }: { period: PeriodShown }) {
  return (
    <tr>
      <th scope="row">
        {dayWords(first)} to {dayWords(last)}
      </th>
      <td class="number" data-label="Days that count">
        {daysCounted}
      </td>
      <td class="number" data-label="Met, of those seen">
        {counts.met} of {counts.met + counts.missed}
      </td>
      <td data-label="Share met">{shareWords(share)}</td>
    </tr>
  );
}

function outcomeWords({ outcome, daysNeeded, dueNeeded }: ComparisonShown): string {
  switch (outcome.kind) {
    case "other-unit":
      return "Not compared: more than one unit recorded these two times, and a step between them may be the sensors'.";
    case "other-plan":
      return "Not compared: the relief plan was not the same over both times.";
    case "too-little":
      return `Not compared: too little was seen ${whichWords[outcome.which]}. Each time takes ${daysNeeded} days that count and ${dueNeeded} due reliefs seen on them.`;
    case "compared":
      return comparedWords(outcome);
  }
}

const whichWords = {
  these: "in the days shown",
  others: "in the other days",
  both: "in either",
} as const;

const percent = (share: number): string => `${Math.round(share * 100)}\u00a0%`;

function comparedWords({
  these,
  others,
  seen,
  whatever,
}: Extract<ComparisonShown["outcome"], { kind: "compared" }>): string {
  const first = `Of the due reliefs seen on days that count, ${percent(these)} were met in the days shown and ${percent(others)} in the other days`;
  const isTold = seen.low > 0 || seen.high < 0;
  const change = isTold
    ? `: ${points(seen.best)} ${seen.best > 0 ? "more" : "fewer"} (95 % interval of the difference ${betweenPoints(seen)}).`
    : `. It can't be told whether anything changed: the 95 % interval of the difference is ${betweenPoints(seen)}.`;
  const holds = isTold && (seen.low > 0 ? whatever.low > 0 : whatever.high < 0);
  const unseen = holds
    ? " What is known to have gone unseen could not turn that round."
    : ` Counting whatever may have happened unseen, the difference lies anywhere from ${betweenPoints(whatever)}.`;
  return `${first}${change}${unseen}${seen.high < 0 ? ` ${fewerSeen}` : ""}`;
}
