import type { ToldEvents } from "../../server/domain/record/told-events.ts";
import type { RecordedBoot } from "../../server/domain/record/unit-record.ts";
import { dateTimeWords, durationWords } from "../layout/words.ts";
import type { BenchFrame } from "./frame.ts";
import { toldLines } from "./told-words.ts";

interface ToldPartProps {
  readonly frame: BenchFrame;
  readonly told: ToldEvents;
  readonly boots: readonly RecordedBoot[];
}

const mostLines = 20;

/** What the unit said of itself in the last week, in its own order of events. */
export function ToldPart({ frame, told, boots }: ToldPartProps) {
  const lines = toldLines(told, frame.zone);
  const unsure = boots.flatMap(({ boot, placedWithin }) =>
    placedWithin === undefined ? [] : [{ boot, placedWithin }],
  );
  return (
    <section id="told">
      <h2>What it told us this week</h2>
      {lines.length === 0 ? (
        <p class="empty">
          Nothing of its cell, its relay or its store. Older firmware tells nothing of them: that says nothing
          of how it is.
        </p>
      ) : (
        <ol class="story plain">
          {lines.slice(0, mostLines).map(({ at, sentence }) => (
            <li>
              <span class="since">{dateTimeWords(at, frame.zone)}:</span> {sentence}
            </li>
          ))}
        </ol>
      )}
      {lines.length > mostLines ? (
        <p>{lines.length - mostLines} earlier ones of this week are not shown.</p>
      ) : null}
      {unsure.length === 0 ? null : (
        <p>
          {unsure
            .map(
              ({ boot, placedWithin }) =>
                `Its clock was not set in boot ${boot}: what it told then lies up to ${durationWords(placedWithin * 1_000)} earlier than it is shown.`,
            )
            .join(" ")}
        </p>
      )}
    </section>
  );
}
