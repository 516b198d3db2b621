import type { LocalDay } from "../../server/domain/time/local-day.ts";
import { dayWords } from "../layout/words.ts";
import { shareWords } from "./share-words.ts";

export interface DayBounds {
  readonly day: LocalDay;
  readonly met: number;
  readonly missed: number;
  readonly notAssessable: number;
  readonly share: { readonly low: number; readonly seen: number | null; readonly high: number } | null;
}

export function BoundsPart({ days }: { days: readonly DayBounds[] }) {
  return (
    <section id="bounds">
      <h2>What it leaves open about reliefs</h2>
      {days.length === 0 ? (
        <p class="empty">The days concerned are not in the ledger yet.</p>
      ) : (
        <div class="wide">
          <table class="ledger stacks">
            <caption>
              The day or days concerned. Low: as if none of the unseen reliefs was made. High: as if all were.
              The truth lies between, whatever happened.
            </caption>
            <thead>
              <tr>
                <th scope="col">Day</th>
                <th scope="col" class="number">
                  Due and met
                </th>
                <th scope="col" class="number">
                  Due, none seen
                </th>
                <th scope="col" class="number">
                  Can't be told
                </th>
                <th scope="col">Share met</th>
              </tr>
            </thead>
            <tbody>
              {days.map((day) => (
                <tr>
                  <th scope="row">{dayWords(day.day)}</th>
                  <td class="number" data-label="Due and met">
                    {day.met}
                  </td>
                  <td class="number" data-label="Due, none seen">
                    {day.missed}
                  </td>
                  <td class="number" data-label="Can't be told">
                    {day.notAssessable}
                  </td>
                  <td data-label="Share met">{shareWords(day.share)}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      )}
    </section>
  );
}
