import type { ReliefQuality } from "../../server/domain/adherence/relief-quality.ts";
import { durationWords } from "../layout/words.ts";

export interface QualityShown extends ReliefQuality {
  readonly unit: string;
  /** What this unit could not see well in these days. */
  readonly unseen: readonly string[];
}

/** How reliefs were made, unit by unit: two sensors are never averaged. */
export function QualityPart({ units }: { units: readonly QualityShown[] }) {
  return (
    <section id="quality">
      <h2>How they were made</h2>
      {units.every(({ complete, longestWithout }) => complete === 0 && longestWithout === null) ? (
        <p class="empty">No relief and no sitting was recorded in these days.</p>
      ) : (
        units.map((one) => <OfUnit one={one} title={units.length > 1} />)
      )}
    </section>
  );
}

function OfUnit({ one, title }: { one: QualityShown; title: boolean }) {
  return (
    <>
      {title ? <h3>As unit {one.unit} saw them</h3> : null}
      <dl class="facts">
        <dt>Complete reliefs seen</dt>
        <dd>{one.complete}</dd>
        <dt>Held, the middle one</dt>
        <dd>{one.hold === null ? "too few seen to say" : `${Math.round(one.hold)} s`}</dd>
        <dt>Load that left the relieved side</dt>
        <dd>
          {one.depth === null
            ? "too few seen to say"
            : `${Math.round(100 * one.depth)}\u00a0%, the middle one`}
        </dd>
        <dt>To the left and to the right</dt>
        <dd>
          {one.left} and {one.right}
          {one.unseen.length === 0 ? "" : ": a balance this unit could not have told"}
        </dd>
        <dt>Longest sit without a relief seen</dt>
        <dd>
          {one.longestWithout === null
            ? "no sitting recorded"
            : `${durationWords(one.longestWithout)}, within the record; a gap ends it`}
        </dd>
      </dl>
    </>
  );
}
