import type { ReliefQuality } from "../../server/domain/adherence/relief-quality.ts";
import { durationWords } from "../layout/words.ts";
import type { LinesOf } from "./figures.ts";

export interface QualityShown extends ReliefQuality {
  readonly loan: string;
  readonly unit: string;
  /** What this unit could not see well in these days. */
  readonly unseen: readonly string[];
}

/** How reliefs were made, unit by unit: two sensors are never averaged. */
export function QualityPart({ units, lines }: { units: readonly QualityShown[]; lines: LinesOf }) {
  return (
    <section id="quality">
      <h2>How they were made</h2>
      {units.every(({ complete, longestWithout }) => complete === 0 && longestWithout === null) ? (
        <p class="empty">No relief and no sitting was recorded in these days.</p>
      ) : (
        units.map((one) => <OfUnit one={one} title={units.length > 1} lines={lines} />)
      )}
    </section>
  );
}

function OfUnit({ one, title, lines }: { one: QualityShown; title: boolean; lines: LinesOf }) {
  const { loan, unit, longestWithout: longest } = one;
  return (
    <>
      {title ? <h3>As unit {unit} saw them</h3> : null}
      <dl class="facts">
        <dt>Complete reliefs seen</dt>
        <dd>
          <a href={lines("reliefs", loan)}>{one.complete}</a>
        </dd>
        <dt>Held, the middle one</dt>
        <dd>
          <Middle value={one.hold} words={(hold) => `${Math.round(hold)} s`} href={lines("reliefs", loan)} />
        </dd>
        <dt>Load that left the relieved side, the middle one</dt>
        <dd>
          <Middle
            value={one.depth}
            words={(depth) => `${Math.round(100 * depth)}\u00a0%`}
            href={lines("reliefs", loan)}
          />
        </dd>
        <dt>To the left and to the right</dt>
        <dd>
          <a href={lines("left", loan)}>{one.left}</a> and <a href={lines("right", loan)}>{one.right}</a>
          {one.unseen.length === 0 ? "" : ": a balance this unit could not have told"}
        </dd>
        <dt>Longest sit without a relief seen</dt>
        <dd>
          {longest === null ? (
            "no sitting recorded"
          ) : (
            <>
              <a href={lines("longest", loan)}>{durationWords(longest.end - longest.start)}</a>, within the
              record; a gap ends it
            </>
          )}
        </dd>
      </dl>
    </>
  );
}

function Middle(props: { value: number | null; words: (value: number) => string; href: string }) {
  return props.value === null ? (
    <>too few seen to say</>
  ) : (
    <a href={props.href}>{props.words(props.value)}</a>
  );
}
