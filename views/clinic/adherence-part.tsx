import type { ReliefCounts } from "../../server/domain/adherence/bounds.ts";
import type { OwnRhythmRange } from "../../server/domain/adherence/own-rhythm.ts";
import type { Scenario } from "../../server/domain/adherence/scenarios.ts";
import { Caution } from "../layout/caution.tsx";
import { hoursWords } from "../layout/words.ts";
import type { LinesOf } from "./figures.ts";
import { RangeBar } from "./range-bar.tsx";
import { ScenariosPart } from "./scenarios-part.tsx";

export interface AdherenceShown {
  readonly counts: ReliefCounts;
  readonly share: { readonly low: number; readonly seen: number | null; readonly high: number } | null;
  /** The narrower range, if the unseen was like the person's own seen time. null: too little seen, or all of it. */
  readonly rhythm: OwnRhythmRange | null;
  /** Named assumptions about the unseen, with what each would give. */
  readonly scenarios: readonly Scenario[];
  /** Of loan time that has passed, the share whose state we know. null: no loan time in the range. */
  readonly observedShare: number | null;
  /** Milliseconds recorded as seated, and of loan time whose state is not known. */
  readonly seated: number;
  readonly unknown: number;
  /** Days with enough of them recorded to count, and how many it takes. */
  readonly daysEnough: number;
  readonly daysNeeded: number;
  /** What the unit could not see in these days, in a sentence without its full stop. */
  readonly unseen: readonly string[];
  /** More than one unit recorded the days: a seam that no figure may hide. */
  readonly acrossUnits: boolean;
  /** The range leads, because too much was unseen. */
  readonly leadWithRange: boolean;
}

const whole = (share: number): string => `${Math.round(share * 100)}\u00a0%`;

export function AdherencePart({ shown, lines }: { shown: AdherenceShown; lines: LinesOf }) {
  const { counts, share, observedShare } = shown;
  const all = counts.met + counts.missed + counts.notAssessable;
  return (
    <section id="reliefs">
      <h2>Reliefs against the plan</h2>
      {share === null ? (
        <p class="empty">
          No relief fell due in this range: nobody was recorded as seated for long enough, or no plan was in
          force.
        </p>
      ) : (
        <>
          <p class="sentence">{lead(shown, share)}</p>
          <RangeBar {...share} />
          {shown.rhythm === null || shown.daysEnough < shown.daysNeeded ? null : (
            <p>{rhythmWords(shown.rhythm)}</p>
          )}
          <dl class="facts">
            <dt>Due in all</dt>
            <dd>
              <a href={lines("due")}>{all}</a>
            </dd>
            <dt>Due and met</dt>
            <dd>
              <a href={lines("met")}>{counts.met}</a>
            </dd>
            <dt>Due, none seen</dt>
            <dd>
              <a href={lines("missed")}>{counts.missed}</a>
            </dd>
            <dt>Can't be told</dt>
            <dd>
              <a href={lines("untold")}>{counts.notAssessable}</a>: no record of the time, or a unit that
              could not have seen them; never counted as missed
            </dd>
          </dl>
          {shown.daysEnough < shown.daysNeeded ? null : (
            <ScenariosPart rows={shown.scenarios} unseen={counts.notAssessable} />
          )}
        </>
      )}
      {shown.acrossUnits ? (
        <p>
          Two units recorded these days. A step where one took over from the other may be the sensor's, not
          the person's.
        </p>
      ) : null}
      {shown.unseen.map((words) => (
        <p>{words}.</p>
      ))}
      <dl class="facts">
        <dt>Seated and recorded</dt>
        <dd>
          <a href={lines("seated")}>{hoursWords(shown.seated)}</a>
        </dd>
        <dt>Observed share</dt>
        <dd>
          {observedShare === null
            ? "no loan time in these days"
            : `${whole(observedShare)} of loan time has a known state; `}
          {observedShare === null ? null : (
            <>
              not known: <a href={lines("unknown")}>{hoursWords(shown.unknown)}</a>
            </>
          )}
        </dd>
        <dt>Days that count</dt>
        <dd>
          <a href={lines("days")}>{shown.daysEnough}</a>; a figure takes {shown.daysNeeded}
        </dd>
      </dl>
      <Caution>
        No data is not no reliefs, and good counts are not safe skin. The console does not diagnose; local
        policy and licensed practice decide.
      </Caution>
    </section>
  );
}

function lead(shown: AdherenceShown, share: NonNullable<AdherenceShown["share"]>): string {
  const range = `between ${whole(share.low)} and ${whole(share.high)}`;
  if (shown.daysEnough < shown.daysNeeded) {
    return `Not enough was seen for a figure: ${shown.daysEnough} of the ${shown.daysNeeded} days it takes. The share of due reliefs met lies ${range}.`;
  }
  if (shown.leadWithRange || share.seen === null) {
    return `The share of due reliefs met lies ${range}: too much went unseen for one number.`;
  }
  if (shown.counts.notAssessable === 0)
    return `${whole(share.seen)} of the due reliefs were seen to be met; none fell due in time without a record.`;
  if (whole(share.low) === whole(share.high)) {
    return `${whole(share.seen)} of the due reliefs were met; what went unseen changes that by less than 1 %.`;
  }
  return `${whole(share.seen)} of the due reliefs we could see were met; counting what we could not see, ${range}.`;
}

const between = ({ low, high }: { readonly low: number; readonly high: number }): string =>
  whole(low) === whole(high) ? `about ${whole(low)}` : `between ${whole(low)} and ${whole(high)}`;

/** An assumption, said as one; the range above needs none. */
const rhythmWords = (range: OwnRhythmRange): string =>
  `If the unseen time was like their own other days at the same hours (an assumption), ${between(range)}.${
    range.away
      ? " Of unseen time noted as away from home it takes anything from no sitting to the usual."
      : ""
  }`;
