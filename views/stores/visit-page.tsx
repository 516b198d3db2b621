import type { Instant } from "../../server/domain/units.ts";
import { Caution } from "../layout/caution.tsx";
import { Choices, CsrfField, Problems, type Typed, typedList } from "../layout/forms.tsx";
import { Page } from "../layout/page.tsx";
import { dateTimeWords, dayWords } from "../layout/words.ts";
import type { StoresFrame } from "./frame.ts";
import { visitWords } from "./loan-facts.ts";
import { SurfaceChoice } from "./surface-choice.tsx";
import type { VisitLine } from "./visits-page.tsx";

export interface VisitShown extends VisitLine {
  readonly status: "planned" | "done" | "cancelled" | "no-access";
  readonly closedAt: Instant | null;
  readonly address: string;
  readonly phone: string;
  readonly unitSize: string;
  readonly replacementSize: string | null;
}

interface VisitPageProps {
  readonly frame: StoresFrame;
  readonly visit: VisitShown;
  readonly problems?: Problems;
  readonly typed?: Typed;
}

const closedWords = {
  done: "Done",
  cancelled: "Cancelled",
  "no-access": "Not done: nobody could let us in",
} as const;

export function VisitPage(props: VisitPageProps) {
  const { frame, visit, problems } = props;
  return (
    <Page title={`${visitWords(visit)}, ${dayWords(visit.day)}`} {...frame}>
      <h1>
        {visitWords(visit)} at {visit.borrowerName}’s, {dayWords(visit.day)}
      </h1>
      <Problems errors={problems} />
      <dl class="facts">
        <dt>Loan</dt>
        <dd>
          <a href={`/stores/loans/${visit.loanId}`}>{visit.loanReference}</a>
        </dd>
        <dt>Unit out</dt>
        <dd>
          {visit.unitSerial}, {visit.unitSize}
        </dd>
        {visit.replacementSerial === null ? null : (
          <>
            <dt>Unit in</dt>
            <dd>
              {visit.replacementSerial}, {visit.replacementSize}
            </dd>
          </>
        )}
        <dt>Where</dt>
        <dd>
          {visit.address}, {visit.area}. Phone {visit.phone}
        </dd>
        <dt>Who goes</dt>
        <dd>{visit.doneByName}</dd>
        <dt>Why</dt>
        <dd>{visit.reason}</dd>
      </dl>
      {visit.status === "planned" ? (
        <Record {...props} />
      ) : (
        <p class="told">
          {closedWords[visit.status]}
          {visit.closedAt === null ? "" : ` on ${dateTimeWords(visit.closedAt, frame.zone)}`}.
        </p>
      )}
    </Page>
  );
}

function Record({ frame, visit, problems, typed }: VisitPageProps) {
  return (
    <div class="beside">
      <section>
        <h2>It was done</h2>
        <form class="form" method="post" action={`/stores/visits/${visit.id}/complete`}>
          <CsrfField signedIn={frame.signedIn} />
          <p>
            {visit.kind === "swap"
              ? `This ends ${visit.loanReference} and opens the next loan with ${visit.replacementSerial ?? "the new unit"}; its pairing code is issued from that loan’s page.`
              : `This ends ${visit.loanReference} and shuts its unit out.`}
          </p>
          <Choices
            legend="Where the old unit is"
            name="unitTo"
            kind="radio"
            chosen={typedList(typed, "unitTo")}
            error={problems?.unitTo}
            choices={[
              { value: "coming-back", words: "On its way back, bagged, sealed and labelled as used" },
              { value: "quarantine", words: "Here, in quarantine" },
            ]}
          />
          {visit.kind === "swap" ? (
            <Caution>
              Clean in first: the new cushion is on the seat before the old one is taken and sealed.
            </Caution>
          ) : (
            <>
              <Caution>Never take a cushion away without an equivalent surface in place.</Caution>
              <SurfaceChoice problems={problems} typed={typed} />
            </>
          )}
          <button type="submit">
            {visit.kind === "swap" ? "The swap was done" : "The unit was collected"}
          </button>
        </form>
      </section>
      <section>
        <h2>It was not</h2>
        <p>
          The loan goes on as it is
          {visit.kind === "swap" ? ", and the unit reserved for it is free again" : ""}. Where nobody opened,
          ring the second number, ask whether they are away or in hospital, and follow the local procedure if
          you are worried.
        </p>
        <div class="actions">
          <CallOff frame={frame} visit={visit} as="no-access" words="Nobody could let us in" />
          <CallOff frame={frame} visit={visit} as="cancel" words="Cancel the visit" />
        </div>
      </section>
    </div>
  );
}

function CallOff({
  frame,
  visit,
  as,
  words,
}: Pick<VisitPageProps, "frame" | "visit"> & { as: string; words: string }) {
  return (
    <form method="post" action={`/stores/visits/${visit.id}/${as}`}>
      <CsrfField signedIn={frame.signedIn} />
      <button type="submit" class="quiet">
        {words}
      </button>
    </form>
  );
}
