import { dateTimeWords, durationWords } from "../layout/words.ts";
import type { BenchFrame } from "./frame.ts";
import type { LoanTime } from "./unit-page.tsx";

export function LoansPart({ frame, loans }: { frame: BenchFrame; loans: readonly LoanTime[] }) {
  const { zone, now } = frame;
  return (
    <section>
      <h2>Loans</h2>
      {loans.length === 0 ? <p>It has never been lent.</p> : null}
      <ul class="story">
        {loans.map(({ reference, openedAt, startedAt, endedAt }) => (
          <li>
            {reference}:{" "}
            {startedAt === null
              ? `opened ${dateTimeWords(openedAt, zone)}, not enrolled${endedAt === null ? " yet" : ""}`
              : `from ${dateTimeWords(startedAt, zone)}`}
            {endedAt === null
              ? startedAt === null
                ? ""
                : `, going on for ${durationWords(now - startedAt)}`
              : ` to ${dateTimeWords(endedAt, zone)}`}
          </li>
        ))}
      </ul>
    </section>
  );
}
