import { spokenCertainty } from "../../server/domain/verdicts/spoken.ts";
import type { HeldVerdict } from "../../server/domain/verdicts/verdict.ts";
import { dateTimeWords } from "../layout/words.ts";
import type { ClinicFrame } from "./frame.ts";
import { KnownOnForm } from "./known-on.tsx";
import { sideNames } from "./side-words.ts";

interface HistoryProps {
  readonly stretch: string;
  readonly history: readonly HeldVerdict[];
  readonly frame: ClinicFrame;
}

export function HistoryPart({ stretch, history, frame }: HistoryProps) {
  const earlier = history.filter(({ supersededAt }) => supersededAt !== null);
  const current = history.find(({ supersededAt }) => supersededAt === null);
  return (
    <section id="history">
      <h2>What was held before</h2>
      <KnownOnForm frame={frame} href={`/clinic/gaps/${stretch}`} />
      {current === undefined ? null : (
        <p>Held since {dateTimeWords(current.computedAt, frame.zone)}: the above.</p>
      )}
      {earlier.length === 0 ? (
        <p class="lead">Nothing else has been held of this stretch.</p>
      ) : (
        <ul class="history">
          {earlier.map(({ verdict, computedAt, supersededAt }) => (
            <li>
              From {dateTimeWords(computedAt, frame.zone)} until{" "}
              {supersededAt === null ? "now" : dateTimeWords(supersededAt, frame.zone)} we held:{" "}
              {spokenCertainty(verdict.probability, verdict.outcome !== "not-settled")},{" "}
              {sideNames[verdict.leadingSide].toLowerCase()}. “{verdict.sentence}”
            </li>
          ))}
        </ul>
      )}
    </section>
  );
}
