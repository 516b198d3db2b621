import type { CommandKind, CommandLine } from "../../server/domain/commands/command.ts";
import { movesByHand, placeWords, whereWords } from "../../server/domain/lifecycle/moves.ts";
import type { Place } from "../../server/domain/lifecycle/place.ts";
import type { Instant } from "../../server/domain/units.ts";
import { Caution } from "../layout/caution.tsx";
import { CommandsPart } from "../layout/commands-part.tsx";
import { CsrfField, Problems } from "../layout/forms.tsx";
import { LiveRegion } from "../layout/live-region.tsx";
import { Page } from "../layout/page.tsx";
import { dateTimeWords } from "../layout/words.ts";
import type { StoresFrame } from "./frame.ts";

interface UnitPageProps {
  readonly frame: StoresFrame;
  readonly unit: {
    readonly serial: string;
    readonly modelName: string;
    readonly size: string;
    readonly width: number;
    readonly depth: number;
    readonly weightLimit: number;
    readonly lotId: string;
    readonly firmware: string | null;
    readonly place: Place;
    readonly placeSince: Instant;
  };
  readonly barredBy: readonly string[];
  readonly reserved: boolean;
  readonly reachable: boolean;
  readonly mayAsk: readonly CommandKind[];
  /** Newest first. */
  readonly commands: readonly CommandLine[];
  readonly loans: readonly {
    readonly id: string;
    readonly reference: string;
    readonly borrowerName: string;
    readonly openedAt: Instant;
    readonly endedAt: Instant | null;
  }[];
  readonly problems?: Problems | undefined;
  readonly told?: string | undefined;
}

export function UnitPage(props: UnitPageProps) {
  const { frame, unit, barredBy, problems, told } = props;
  return (
    <Page title={`Unit ${unit.serial}`} {...frame}>
      <h1>Unit {unit.serial}</h1>
      {told === undefined ? null : (
        <p class="told" role="status">
          {told}
        </p>
      )}
      <Problems errors={problems} />
      <LiveRegion id="unit" topics={[`unit:${unit.serial}`]} url={`/stores/units/${unit.serial}`}>
        <p class="sentence">
          It is <strong>{whereWords[unit.place]}</strong>, since {dateTimeWords(unit.placeSince, frame.zone)}.
        </p>
        {barredBy.length === 0 ? null : (
          <Caution word="Held back.">
            Recall {barredBy.join(", ")} bars this unit from issue.{" "}
            <a href="/stores/recalls">See the recalls</a>
          </Caution>
        )}
        <div class="beside">
          <Facts {...props} />
          <Moves {...props} />
        </div>
        <CommandsPart
          frame={frame}
          action={`/stores/units/${unit.serial}/commands`}
          reachable={props.reachable}
          mayAsk={props.mayAsk}
          commands={props.commands}
        />
        <Loans {...props} />
      </LiveRegion>
    </Page>
  );
}

function Facts({ unit }: UnitPageProps) {
  return (
    <section>
      <h2>What it is</h2>
      <dl class="facts">
        <dt>Model and size</dt>
        <dd>
          {unit.modelName}, {unit.size}
        </dd>
        <dt>Measures</dt>
        <dd>
          {unit.width / 10} × {unit.depth / 10} cm, up to {unit.weightLimit} kg
        </dd>
        <dt>Lot</dt>
        <dd>{unit.lotId}</dd>
        <dt>Firmware</dt>
        <dd>{unit.firmware ?? "not reported yet"}</dd>
      </dl>
    </section>
  );
}

/** Loans and visits move a unit themselves; the rest is pressed here. */
function Moves({ frame, unit, reserved }: UnitPageProps) {
  const moves = movesByHand(unit.place);
  return (
    <section id="move" class="slip screen-only">
      <h2>Move it</h2>
      {unit.place === "on-loan" ? (
        <p>It leaves a loan when the loan is ended or swapped, on the loan’s page.</p>
      ) : reserved ? (
        <p>
          A planned visit is to bring it. Change that visit first: <a href="/stores/visits">visits</a>.
        </p>
      ) : moves.length === 0 ? (
        <p>A unit that is {whereWords[unit.place]} stays so.</p>
      ) : (
        <>
          <p>
            A unit that has been with a borrower is cleaned, then checked on the bench, then put into stock.
          </p>
          <div class="actions">
            {moves.map((to) => (
              <form method="post" action={`/stores/units/${unit.serial}/move`}>
                <CsrfField signedIn={frame.signedIn} />
                <input type="hidden" name="from" value={unit.place} />
                <input type="hidden" name="to" value={to} />
                <button type="submit" class={to === "retired" || to === "missing" ? "grave" : "quiet"}>
                  {moveWords(unit.place, to)}
                </button>
              </form>
            ))}
          </div>
        </>
      )}
    </section>
  );
}

function moveWords(from: Place, to: Place): string {
  switch (to) {
    case "quarantine":
      return from === "coming-back" ? "Book it into quarantine" : "Put it in quarantine";
    case "cleaning":
      return "Send it to cleaning";
    case "on-the-bench":
      return from === "cleaning" ? "Cleaned: on to the bench" : "Send it to the bench";
    case "in-stock":
      return "Put it into stock";
    case "retired":
      return "Retire it for good";
    case "missing":
      return "Record it as missing";
    case "reserved":
    case "on-loan":
    case "coming-back":
      return placeWords[to];
  }
}

function Loans({ frame, loans }: UnitPageProps) {
  return (
    <section>
      <h2>Loans</h2>
      {loans.length === 0 ? <p>It has never been lent.</p> : null}
      <ul class="plain">
        {loans.map((loan) => (
          <li>
            <a href={`/stores/loans/${loan.id}`}>{loan.reference}</a>: {loan.borrowerName}, from{" "}
            {dateTimeWords(loan.openedAt, frame.zone)}
            {loan.endedAt === null ? ", open" : ` to ${dateTimeWords(loan.endedAt, frame.zone)}`}
          </li>
        ))}
      </ul>
    </section>
  );
}
