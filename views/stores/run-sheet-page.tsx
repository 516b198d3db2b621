import type { LocalDay } from "../../server/domain/time/local-day.ts";
import { counted } from "../layout/counted.ts";
import { Page } from "../layout/page.tsx";
import { dayWords } from "../layout/words.ts";
import type { StoresFrame } from "./frame.ts";
import { initialsOf } from "./initials.ts";
import { Ref } from "./ref.tsx";
import type { VisitShown } from "./visit-page.tsx";

interface RunSheetPageProps {
  readonly frame: StoresFrame;
  readonly person: string;
  readonly day: LocalDay;
  /** In the order of the round. */
  readonly stops: readonly VisitShown[];
}

/** Paper for one person and one day. Initials only; the address is what gets the driver there. */
export function RunSheetPage({ frame, person, day, stops }: RunSheetPageProps) {
  const title = `Run sheet: ${person}, ${dayWords(day)}`;
  return (
    <Page title={title} {...frame}>
      <p class="screen-only">
        <a href="/stores/visits">Back to the visits</a>
      </p>
      <h1>{title}</h1>
      {stops.length === 0 ? (
        <p class="empty">
          {person} has no visit planned on {dayWords(day)}.
        </p>
      ) : (
        <>
          <p>
            {counted(stops.length, "stop")}. <strong>Clean before dirty:</strong> stops that bring a clean
            unit come first, collections after. At a swap the clean cushion goes on the seat first; then bag,
            seal and label the old one in the home, and clean hands. Used units stay in the dirty zone of the
            vehicle. If the order has to change, write down why.
          </p>
          <table class="ledger stacks run-sheet">
            <thead>
              <tr>
                <th scope="col">Stop</th>
                <th scope="col">Who and where</th>
                <th scope="col">Task</th>
                <th scope="col">Unit in</th>
                <th scope="col">Unit out</th>
                <th scope="col">Done, time, signature</th>
              </tr>
            </thead>
            <tbody>
              {stops.map((stop, index) => (
                <Stop stop={stop} number={index + 1} />
              ))}
            </tbody>
          </table>
          <Cautions />
          <p class="handback">
            <span>Used units handed back: ______ of {stops.length}</span>
            <span>Clean units not used: ______</span>
            <span>Order changed because: ______________________</span>
            <span>Signature: ____________________</span>
          </p>
        </>
      )}
    </Page>
  );
}

function Stop({ stop, number }: { stop: VisitShown; number: number }) {
  return (
    <tr>
      <th scope="row">{number}</th>
      <td data-label="Who and where">
        {initialsOf(stop.borrowerName)} (<Ref to={stop.loanReference} />)
        <br />
        {stop.address}, {stop.area}
      </td>
      <td data-label="Task">
        {stop.kind === "swap" ? "Swap" : "Collection"}: {stop.reason}
        <br />
        <span class="soft">
          {stop.kind === "swap"
            ? "Pair the new unit; lean test left, right, forward; charger and cable."
            : "Check that an equivalent surface is in place before you take it. Charger and cable back."}
        </span>
      </td>
      <td data-label="Unit in">
        {stop.replacementSerial === null ? (
          "–"
        ) : (
          <>
            <Ref to={stop.replacementSerial} />, <Ref to={stop.replacementSize ?? ""} />
          </>
        )}
      </td>
      <td data-label="Unit out">
        <Ref to={stop.unitSerial} />, <Ref to={stop.unitSize} />
      </td>
      <td class="to-write" data-label="Done, time, signature" />
    </tr>
  );
}

function Cautions() {
  return (
    <ul class="cautions">
      <li>
        Read the serial on the unit and the name with the person before anything is handed over or taken.
      </li>
      <li>
        A swollen, hot or wet battery is not charged, opened, posted or carried on this round: leave it in the
        open, ring Stores.
      </li>
      <li>
        Nobody in: ring, wait as the local procedure says, leave a card without clinical words, tell Stores.
      </li>
      <li>Lone working and lifting: local policy decides. Don’t lift a person.</li>
    </ul>
  );
}
