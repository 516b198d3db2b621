import { raw } from "hono/html";
import { type CertificateContent, issuedAt } from "../../server/domain/bench/certificate.ts";
import { outcomeWords } from "../../server/domain/bench/session.ts";
import { stepById } from "../../server/domain/bench/steps.ts";
import { cellName } from "../../server/domain/sensor-grid/cell-name.ts";
import { instant } from "../../server/domain/units.ts";
import { Page, type PageProps } from "../layout/page.tsx";
import { dateTimeWords } from "../layout/words.ts";
import { amountWords, decisionWords, limitWords } from "./measured-words.ts";

interface CertificatePageProps {
  readonly frame: Omit<PageProps, "title">;
  readonly content: CertificateContent;
  readonly signedBy: string;
  readonly issuer: string;
  readonly newest: boolean;
  /** Trusted markup: an SVG that we drew ourselves. */
  readonly picture: string;
  readonly address: string;
}

/** One A4 page. Whoever holds the paper compares it with the same page on the screen, which has just been verified. */
export function CertificatePage(props: CertificatePageProps) {
  const { frame, content, signedBy, issuer, newest, picture, address } = props;
  return (
    <Page title={`Bench certificate of ${content.sub}`} {...frame} live={false}>
      <p class="told screen-only" role="status">
        <strong>The signature holds.</strong> Every value below was signed by {issuer} with key {signedBy} and
        hasn’t been changed since.{" "}
        {newest
          ? "It is the newest certificate of this unit."
          : "A newer certificate of this unit exists: this one is past."}
      </p>
      <article class="certificate">
        <header class="certificate-head">
          <div class="stack">
            <h1>Bench certificate</h1>
            <p class="certificate-outcome">
              {content.sub}: <strong>{outcomeWords[content.outcome]}</strong>
            </p>
            <dl class="facts">
              <dt>Model, lot</dt>
              <dd>
                {content.model}; {content.lot}
              </dd>
              <dt>Session</dt>
              <dd>
                {content.session}, begun {dateTimeWords(instant(content.began * 1_000), frame.zone)},
                certified {dateTimeWords(issuedAt(content), frame.zone)} ({frame.zone})
              </dd>
              <dt>Loads from</dt>
              <dd>{content.equipment.length === 0 ? "none" : content.equipment.join("; ")}</dd>
              <dt>Masked cells</dt>
              <dd>{maskedWords(content)}</dd>
              {content.forgot === null ? null : (
                <>
                  <dt>Emptied</dt>
                  <dd>
                    it forgot everything of its last loan,{" "}
                    {dateTimeWords(instant(content.forgot * 1_000), frame.zone)}
                  </dd>
                </>
              )}
            </dl>
          </div>
          <figure class="certificate-code">
            {raw(picture)}
            <figcaption>{content.jti}</figcaption>
          </figure>
        </header>
        <ResultTable content={content} />
        <footer class="certificate-foot">
          <p>
            {content.decisionRule} U is the expanded uncertainty at 95 % (type A from repeats, type B from
            certificates and resolution; JCGM 100:2008). It says how the unit read on that day on the bench;
            it is no promise for later, and no word about any person.
          </p>
          <p>
            Verify at {address}. Signed by {issuer}, key {signedBy}.
          </p>
        </footer>
      </article>
    </Page>
  );
}

function ResultTable({ content }: { content: CertificateContent }) {
  return (
    <section class="wide" tabindex={0} aria-label="Readings">
      <table class="ledger judged">
        <caption class="seen-by-readers-only">Readings</caption>
        <thead>
          <tr>
            <th scope="col">Test</th>
            <th scope="col">Reading</th>
            <th scope="col" class="number">
              Value
            </th>
            <th scope="col" class="number">
              ± U
            </th>
            <th scope="col">Limits</th>
            <th scope="col">So</th>
          </tr>
        </thead>
        <tbody>
          {content.results.map((line, index) => (
            <tr>
              <td>{content.results[index - 1]?.step === line.step ? "" : stepById(line.step).title}</td>
              <th scope="row">{line.name}</th>
              <td class="number">
                {amountWords(line.value, line.unit)} {line.unit}
              </td>
              <td class="number">{line.expanded === 0 ? "" : amountWords(line.expanded, line.unit)}</td>
              <td>{limitWords(line.low, line.high, line.unit)}</td>
              <td>
                {
                  decisionWords[
                    line.decision === "pass" || line.decision === "masked" ? line.decision : "not-settled"
                  ]
                }
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}

/** Whole lines are named as such: ten cells of one column are one thing. Counted from the front left, from 1. */
function maskedWords({ masked, grid: [rows, columns] }: CertificateContent): string {
  if (masked.length === 0) return "none";
  const out = new Set(masked);
  const whole = (count: number, cellsOf: (line: number) => number[]): number[] =>
    Array.from({ length: count }, (_, line) => line).filter((line) =>
      cellsOf(line).every((cell) => out.has(cell)),
    );
  const wholeColumns = whole(columns, (column) =>
    Array.from({ length: rows }, (_, row) => row * columns + column),
  );
  const wholeRows = whole(rows, (row) =>
    Array.from({ length: columns }, (_, column) => row * columns + column),
  );
  const rest = masked.filter(
    (cell) => !wholeColumns.includes(cell % columns) && !wholeRows.includes(Math.floor(cell / columns)),
  );
  return [
    ...wholeColumns.map((column) => `column ${column + 1} from the left`),
    ...wholeRows.map((row) => `row ${row + 1} from the front`),
    ...rest.map((cell) => cellName(cell, columns)),
  ].join("; ");
}
