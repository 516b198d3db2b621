import type { ShareTrend } from "../../server/domain/adherence/share-trend.ts";
import { counted } from "../layout/counted.ts";
import { betweenPoints, fewerSeen, points } from "./points-words.ts";

export interface TrendShown {
  readonly daysNeeded: number;
  /** One unit under one plan each, oldest first. */
  readonly segments: readonly {
    readonly unit: string;
    readonly planVersion: number;
    readonly daysCounted: number;
    /** null: too few days count. */
    readonly trend: ShareTrend | null;
  }[];
}

/** How the share went, within one unit and one plan; never over a seam. */
export function TrendPart({ shown }: { shown: TrendShown }) {
  const { segments, daysNeeded } = shown;
  const several = segments.length > 1;
  return (
    <section id="trend">
      <h2>How it went over these days</h2>
      {segments.length === 0 ? <p class="empty">No relief fell due in these days.</p> : null}
      {segments.map(({ unit, planVersion, daysCounted, trend }) => (
        <p>
          {several ? `Unit ${unit} under plan version ${planVersion}: ` : ""}
          {trend === null
            ? `${several ? "n" : "N"}ot enough for a trend: ${counted(daysCounted, "day")} of the ${daysNeeded} it takes.`
            : trendWords(trend)}
        </p>
      ))}
      {several ? (
        <p class="lead">
          Another unit or another plan begins anew: a step from one to the other is no trend of the person's.
        </p>
      ) : null}
    </section>
  );
}

function trendWords({ days, seen, whatever }: ShareTrend): string {
  const over = `over ${days} days that count`;
  const interval = betweenPoints(seen);
  if (seen.low <= 0 && seen.high >= 0)
    return `No trend can be told ${over}: of the reliefs seen, the share met changed by ${interval} a week (95 % interval).`;
  const way = seen.low > 0 ? "rose" : "fell";
  const holds = seen.low > 0 ? whatever.low > 0 : whatever.high < 0;
  const unseen = holds
    ? "What is known to have gone unseen could not turn that round."
    : "What is known to have gone unseen on those days could undo it.";
  return `The share met of the reliefs seen ${way} by about ${points(Math.abs(seen.best))} a week ${over} (95 % interval ${interval}). ${unseen}${way === "fell" ? ` ${fewerSeen}` : ""}`;
}
