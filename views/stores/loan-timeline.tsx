import type { ZoneName } from "../../server/domain/time/local-day.ts";
import type { Instant } from "../../server/domain/units.ts";
import { dateTimeWords } from "../layout/words.ts";

export interface TimelineEntry {
  readonly at: Instant;
  readonly words: string;
  /** What somebody wrote, and who. */
  readonly note?: { readonly text: string; readonly by: string; readonly until: Instant | null };
}

/** Latest first; of one moment, what is listed later happened later. */
export function LoanTimeline({ entries, zone }: { entries: readonly TimelineEntry[]; zone: ZoneName }) {
  return (
    <ol class="timeline">
      {entries
        .toReversed()
        .sort((a, b) => b.at - a.at)
        .map((entry) => (
          <li>
            <time datetime={new Date(entry.at).toISOString()}>{dateTimeWords(entry.at, zone)}</time>
            <div>
              <p>{entry.words}</p>
              {entry.note === undefined ? null : (
                <p class="soft">
                  {entry.note.until === null ? "" : `Until ${dateTimeWords(entry.note.until, zone)}. `}
                  {entry.note.text === "" ? "" : `“${entry.note.text}” `}
                  {entry.note.by}
                </p>
              )}
            </div>
          </li>
        ))}
    </ol>
  );
}
