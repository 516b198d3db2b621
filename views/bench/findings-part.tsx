import { isHazard } from "../../server/domain/condition/condition-of.ts";
import { Caution } from "../layout/caution.tsx";
import { CsrfField } from "../layout/forms.tsx";
import { certaintyWords, dateTimeWords } from "../layout/words.ts";
import type { FindingLine } from "./finding-line.ts";
import type { BenchFrame } from "./frame.ts";
import { LevelTag } from "./level-tag.tsx";
import { findingNames } from "./words.ts";

interface FindingsProps {
  readonly frame: BenchFrame;
  readonly open: readonly FindingLine[];
  readonly past: readonly FindingLine[];
}

export function FindingsPart({ frame, open, past }: FindingsProps) {
  return (
    <section id="findings">
      <h2>Findings</h2>
      {open.length === 0 ? <p>None is open.</p> : null}
      {open.map((finding) => (
        <OpenFinding finding={finding} frame={frame} />
      ))}
      {past.length === 0 ? null : (
        <details>
          <summary>Past findings ({past.length})</summary>
          <ul class="story">
            {past.map((finding) => (
              <li>
                {findingNames[finding.kind]}
                {finding.where === "" ? "" : ` (${finding.where})`}: from{" "}
                {dateTimeWords(finding.since, frame.zone)} to{" "}
                {finding.clearedAt === null ? "now" : dateTimeWords(finding.clearedAt, frame.zone)}
                {finding.judgement === null ? ", not judged" : `, ${judgedWords(finding, frame)}`}.{" "}
                {finding.sentence}
              </li>
            ))}
          </ul>
        </details>
      )}
    </section>
  );
}

function OpenFinding({ finding, frame }: { finding: FindingLine; frame: BenchFrame }) {
  return (
    <article class={finding.judgement === "refuted" ? "slip finding refuted" : "slip finding"}>
      <h3>
        <LevelTag level={finding.level} /> {findingNames[finding.kind]}
      </h3>
      {isHazard(finding.kind) ? (
        <Caution word="Make it safe first.">
          {finding.sentence} A swollen, hot or wet battery is not charged, opened or posted; local policy
          decides.
        </Caution>
      ) : (
        <p>{finding.sentence}</p>
      )}
      <dl class="facts">
        <dt>How sure</dt>
        <dd>{certaintyWords(finding.probability)}</dd>
        <dt>Since</dt>
        <dd>{dateTimeWords(finding.since, frame.zone)}</dd>
        <dt>May be mistaken for</dt>
        <dd>{finding.mistakenFor}</dd>
        <dt>What settles it</dt>
        <dd>{finding.settledBy}</dd>
        {finding.judgement === null ? null : (
          <>
            <dt>Judged</dt>
            <dd>{judgedWords(finding, frame)}</dd>
          </>
        )}
      </dl>
      <Judge finding={finding} frame={frame} />
    </article>
  );
}

function judgedWords({ judgement, judgedBy, judgedAt }: FindingLine, frame: BenchFrame): string {
  const when = judgedAt === null ? "" : `, ${dateTimeWords(judgedAt, frame.zone)}`;
  const who = `by ${judgedBy ?? "a technician"}${when}`;
  return judgement === "refuted"
    ? `refuted ${who}; it is not raised again until its signs have gone`
    : `confirmed ${who}`;
}

/** One press; a second thought takes one press too. */
function Judge({ finding, frame }: { finding: FindingLine; frame: BenchFrame }) {
  const choices =
    finding.judgement === null
      ? [
          { value: "confirmed", words: "It is so" },
          { value: "refuted", words: "It isn’t so" },
        ]
      : [{ value: "none", words: "Take that back" }];
  return (
    <form class="actions" method="post" action={`/bench/findings/${finding.id}`}>
      <CsrfField signedIn={frame.signedIn} />
      {choices.map(({ value, words }) => (
        <button type="submit" name="judgement" value={value} class="quiet">
          {words}
          <span class="seen-by-readers-only">: {findingNames[finding.kind]}</span>
        </button>
      ))}
    </form>
  );
}
