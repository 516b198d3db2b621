import {
  type Conclusion,
  conclusionWords,
  type Part,
  type Problem,
  partWords,
  problemWords,
  type Seen,
  seenWords,
} from "../../server/domain/bench/coding.ts";
import type { Instant } from "../../server/domain/units.ts";
import { dateTimeWords } from "../layout/words.ts";
import { type SessionLine, standingWords } from "./bench-sessions-page.tsx";
import type { BenchFrame } from "./frame.ts";

export interface BenchHistory {
  /** Open one first, then the newest. */
  readonly sessions: readonly SessionLine[];
  readonly codings: readonly {
    readonly problem: Problem;
    readonly seen: Seen;
    readonly conclusion: Conclusion;
    readonly note: string | null;
    readonly codedAt: Instant;
  }[];
  readonly parts: readonly {
    readonly part: Part;
    readonly fitted: string | null;
    readonly changedAt: Instant;
  }[];
}

/** What the bench has proved of it, what was said of its faults, and what was changed in it. */
export function BenchPart({
  frame,
  serial,
  history,
}: {
  frame: BenchFrame;
  serial: string;
  history: BenchHistory;
}) {
  const { sessions, codings, parts } = history;
  return (
    <section id="bench-history">
      <h2>Bench, faults and parts</h2>
      {sessions.length === 0 ? (
        <p>No session was held yet.</p>
      ) : (
        <ul class="story">
          {sessions.map((session) => (
            <li>
              <a href={`/bench/sessions/${session.id}`}>{session.reference}</a>,{" "}
              {dateTimeWords(session.startedAt, frame.zone)}: {standingWords(session)}
            </li>
          ))}
        </ul>
      )}
      {codings.length === 0 ? null : (
        <ul class="story">
          {codings.map(({ problem, seen, conclusion, note, codedAt }) => (
            <li>
              {dateTimeWords(codedAt, frame.zone)}. Reported: {problemWords[problem]}. Seen: {seenWords[seen]}
              . Cause: {conclusionWords[conclusion]}.{note === null ? "" : ` ${note}`}
            </li>
          ))}
        </ul>
      )}
      <p>
        {parts.length === 0
          ? "No part was changed."
          : `Changed: ${parts
              .map(
                ({ part, fitted, changedAt }) =>
                  `${partWords[part]}${fitted === null ? "" : ` (${fitted})`}, ${dateTimeWords(changedAt, frame.zone)}`,
              )
              .join("; ")}.`}
      </p>
      <p>
        <a href={`/bench/units/${serial}/log`}>Load a log read off it over a cable</a>
      </p>
    </section>
  );
}
