import type { LoanNoteKind } from "../../server/domain/lifecycle/loan-note.ts";
import type { Instant } from "../../server/domain/units.ts";
import { Caution } from "../layout/caution.tsx";
import { Problems, type Typed } from "../layout/forms.tsx";
import { LiveRegion } from "../layout/live-region.tsx";
import { Page } from "../layout/page.tsx";
import { agoWords, dateTimeWords, dayWords } from "../layout/words.ts";
import type { StoresFrame } from "./frame.ts";
import { type LoanFacts, type LoanVisit, visitWords } from "./loan-facts.ts";
import { LoanTimeline, type TimelineEntry } from "./loan-timeline.tsx";
import { NoteForm } from "./note-form.tsx";
import { type CodeShown, PairingPanel } from "./pairing-panel.tsx";

interface LoanPageProps {
  readonly frame: StoresFrame;
  readonly loan: LoanFacts;
  readonly code: CodeShown | null;
  /** References of recalls that hold its unit back. */
  readonly barredBy: readonly string[];
  readonly lastRecordedAt: Instant | null;
  readonly plannedVisit: LoanVisit | null;
  readonly timeline: readonly TimelineEntry[];
  readonly follows: { readonly id: string; readonly reference: string } | null;
  readonly followedBy: { readonly id: string; readonly reference: string } | null;
  readonly noteKinds: readonly LoanNoteKind[];
  readonly problems?: Problems;
  readonly typed?: Typed;
  readonly told?: string | undefined;
}

export function LoanPage(props: LoanPageProps) {
  const { frame, loan, problems, told } = props;
  return (
    <Page title={`Loan ${loan.reference}`} {...frame}>
      <h1>
        Loan {loan.reference}: {loan.unitSerial}, lent to {loan.borrowerName}
      </h1>
      {told === undefined ? null : (
        <p class="told" role="status">
          {told}
        </p>
      )}
      <Problems errors={problems} />
      <LiveRegion
        id="loan"
        topics={[`loan:${loan.id}`, `unit:${loan.unitSerial}`]}
        url={`/stores/loans/${loan.id}`}
      >
        <LoanState {...props} />
        <div class="beside">
          <Facts {...props} />
          <PairingPanel frame={frame} loan={loan} code={props.code} />
        </div>
        <section>
          <h2>What has happened</h2>
          <LoanTimeline entries={props.timeline} zone={frame.zone} />
        </section>
      </LiveRegion>
      <NoteForm {...props} />
    </Page>
  );
}

function LoanState({ frame, loan, barredBy, lastRecordedAt, plannedVisit, followedBy }: LoanPageProps) {
  if (loan.endedAt !== null) {
    return (
      <p class="sentence">
        Ended on {dateTimeWords(loan.endedAt, frame.zone)}: {loan.endReason ?? "no reason given"}.{" "}
        {followedBy === null ? null : (
          <>
            Followed by <a href={`/stores/loans/${followedBy.id}`}>{followedBy.reference}</a>.
          </>
        )}
      </p>
    );
  }
  return (
    <>
      <p class="sentence">
        {loan.startedAt === null
          ? "Open, but the unit has not enrolled yet. Nothing it records before that belongs to this loan."
          : `Open and enrolled since ${dateTimeWords(loan.startedAt, frame.zone)}. ${recordedWords(lastRecordedAt, frame)}`}
      </p>
      {barredBy.length === 0 ? null : (
        <Caution word="Under recall.">
          Recall {barredBy.join(", ")} concerns this unit. Read its advice to the borrower, and plan a swap:
          no cushion is taken away without an equivalent surface in place.{" "}
          <a href="/stores/recalls">See the recalls</a>
        </Caution>
      )}
      {plannedVisit === null ? null : (
        <p class="told">
          {visitWords(plannedVisit)} on {dayWords(plannedVisit.day)}, by {plannedVisit.doneByName}.{" "}
          <a href={`/stores/visits/${plannedVisit.id}`} class="screen-only">
            Record or change this visit
          </a>
        </p>
      )}
      <p class="actions screen-only">
        {plannedVisit === null ? (
          <>
            <a class="button quiet" href={`/stores/loans/${loan.id}/swap`}>
              Plan a swap
            </a>
            <a class="button quiet" href={`/stores/loans/${loan.id}/collection`}>
              Plan a collection
            </a>
          </>
        ) : null}
        <a class="button grave" href={`/stores/loans/${loan.id}/end`}>
          End the loan
        </a>
      </p>
    </>
  );
}

const recordedWords = (at: Instant | null, { now, zone }: StoresFrame): string =>
  at === null
    ? "Nothing recorded has arrived yet."
    : `The newest record that has arrived is of ${dateTimeWords(at, zone)} (${agoWords(at, now)}).`;

function Facts({ loan, follows }: LoanPageProps) {
  return (
    <section>
      <h2>Unit and borrower</h2>
      <dl class="facts">
        <dt>Unit</dt>
        <dd>
          <a href={`/stores/units/${loan.unitSerial}`}>{loan.unitSerial}</a>, {loan.modelName}, {loan.size},
          lot {loan.lotId}
        </dd>
        <dt>Borrower</dt>
        <dd>
          <a href={`/stores/borrowers/${loan.borrowerId}`}>{loan.borrowerName}</a>
        </dd>
        <dt>Phone</dt>
        <dd>{loan.phone}</dd>
        <dt>Address</dt>
        <dd>{loan.address}</dd>
        <dt>Due back</dt>
        <dd>{loan.dueBackOn === null ? "no date agreed" : dayWords(loan.dueBackOn)}</dd>
        {follows === null ? null : (
          <>
            <dt>Follows</dt>
            <dd>
              <a href={`/stores/loans/${follows.id}`}>{follows.reference}</a>, by a swap
            </dd>
          </>
        )}
      </dl>
    </section>
  );
}
