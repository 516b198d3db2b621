import type { Instant } from "../../server/domain/units.ts";
import { LiveRegion } from "../layout/live-region.tsx";
import { Page } from "../layout/page.tsx";
import { dateTimeWords, timeWords } from "../layout/words.ts";
import type { StoresFrame } from "./frame.ts";

interface RecallsPageProps {
  readonly frame: StoresFrame;
  readonly recalls: readonly {
    readonly id: string;
    readonly reference: string;
    readonly title: string;
    readonly criterion: "lot" | "firmware";
    readonly criterionValue: string;
    readonly openedAt: Instant;
    readonly closedAt: Instant | null;
    readonly affected: number;
    readonly outstanding: number;
  }[];
}

export function RecallsPage({ frame, recalls }: RecallsPageProps) {
  return (
    <Page title="Recalls" {...frame}>
      <div class="heading-row">
        <h1>Recalls</h1>
        <a class="button" href="/stores/recalls/new">
          Open a recall
        </a>
      </div>
      <LiveRegion id="recalls" topics={["stores"]} url="/stores/recalls">
        {recalls.length === 0 ? (
          <p class="empty">No recall has been opened. Last checked at {timeWords(frame.now, frame.zone)}.</p>
        ) : (
          <table class="ledger stacks">
            <thead>
              <tr>
                <th scope="col">Recall</th>
                <th scope="col">What</th>
                <th scope="col">Takes back</th>
                <th scope="col" class="number">
                  Affected
                </th>
                <th scope="col" class="number">
                  Outstanding
                </th>
                <th scope="col">State</th>
              </tr>
            </thead>
            <tbody>
              {recalls.map((recall) => (
                <tr>
                  <th scope="row">
                    <a href={`/stores/recalls/${recall.id}`}>{recall.reference}</a>
                  </th>
                  <td data-label="What">{recall.title}</td>
                  <td data-label="Takes back">
                    {recall.criterion} {recall.criterionValue}
                  </td>
                  <td data-label="Affected" class="number">
                    {recall.affected}
                  </td>
                  <td data-label="Outstanding" class="number">
                    {recall.outstanding}
                  </td>
                  <td data-label="State">
                    {recall.closedAt === null
                      ? `open since ${dateTimeWords(recall.openedAt, frame.zone)}`
                      : `closed on ${dateTimeWords(recall.closedAt, frame.zone)}`}
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
        )}
      </LiveRegion>
    </Page>
  );
}
