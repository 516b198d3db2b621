import { counted } from "../layout/counted.ts";
import { LiveRegion } from "../layout/live-region.tsx";
import { Page } from "../layout/page.tsx";
import { dateTimeWords } from "../layout/words.ts";
import type { BenchFrame } from "./frame.ts";
import type { KeptAsideLine } from "./worklist-page.tsx";

interface KeptAsidePageProps {
  readonly frame: BenchFrame;
  readonly lines: readonly KeptAsideLine[];
}

export function KeptAsidePage({ frame, lines }: KeptAsidePageProps) {
  const messages = lines.reduce((sum, line) => sum + line.messages, 0);
  return (
    <Page title="Kept aside" {...frame}>
      <h1>Kept aside</h1>
      <p class="lead">
        Messages that came from a unit of ours and could not be read. Each is kept as it came, so that a
        repaired reader can still take it in; none of them counts in any figure.
      </p>
      <LiveRegion id="kept-aside" topics={["bench"]} url="/bench/kept-aside">
        {lines.length === 0 ? (
          <p class="empty">
            Every message that came in could be read. Last checked {dateTimeWords(frame.now, frame.zone)}.
          </p>
        ) : (
          <table class="ledger stacks">
            <caption>
              {counted(messages, "message")} from {counted(lines.length, "unit")}
            </caption>
            <thead>
              <tr>
                <th scope="col">Unit</th>
                <th scope="col" class="number">
                  Messages
                </th>
                <th scope="col">Reason, of the last one</th>
                <th scope="col">It came</th>
              </tr>
            </thead>
            <tbody>
              {lines.map((line) => (
                <tr>
                  <th scope="row">
                    <a href={`/bench/units/${line.unit}`}>{line.unit}</a>
                  </th>
                  <td class="number" data-label="Messages">
                    {line.messages}
                  </td>
                  <td data-label="Reason, of the last one">{line.lastReason}</td>
                  <td data-label="It came">{dateTimeWords(line.lastAt, frame.zone)}</td>
                </tr>
              ))}
            </tbody>
          </table>
        )}
      </LiveRegion>
    </Page>
  );
}
