import {
  doorstepFindings,
  doorstepFindingWords,
  doorstepSteps,
  doorstepWords,
} from "../../server/domain/lifecycle/doorstep.ts";
import type { Instant } from "../../server/domain/units.ts";
import { Caution } from "../layout/caution.tsx";
import { Choices, CsrfField, Field, Problems, type Typed, typedList, typedText } from "../layout/forms.tsx";
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

interface Again {
  readonly problems?: Problems | undefined;
  readonly typed?: Typed | undefined;
}

interface VisitPageProps extends Again {
  readonly frame: StoresFrame;
  readonly visit: VisitShown;
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
          {visit.kind === "swap" ? ", and the unit reserved for it is free again" : ""}.
        </p>
        <AtTheDoor frame={frame} visit={visit} problems={problems} typed={typed} />
        <form method="post" action={`/stores/visits/${visit.id}/cancel`}>
          <CsrfField signedIn={frame.signedIn} />
          <button type="submit" class="quiet">
            Nobody went: cancel the visit
          </button>
        </form>
      </section>
    </div>
  );
}

/** Not seen and not found: what to do, in order, and what was learned by it. */
function AtTheDoor({ frame, visit, problems, typed }: Pick<VisitPageProps, "frame" | "visit"> & Again) {
  return (
    <form class="form" method="post" action={`/stores/visits/${visit.id}/no-access`}>
      <CsrfField signedIn={frame.signedIn} />
      <Choices
        legend="Nobody came to the door: what was done, in this order"
        name="steps"
        kind="checkbox"
        chosen={typedList(typed, "steps")}
        error={problems?.steps}
        choices={doorstepSteps.map((step) => ({ value: step, words: doorstepWords[step] }))}
      />
      <Choices
        legend="What is known"
        name="found"
        kind="radio"
        chosen={typedList(typed, "found")}
        error={problems?.found}
        choices={doorstepFindings.map((found) => ({ value: found, words: doorstepFindingWords[found] }))}
      />
      <Field
        label="In hospital since"
        name="since"
        type="datetime-local"
        required={false}
        hint="Only where they are. Leave it empty where nobody could say."
        value={typedText(typed, "since")}
        error={problems?.since}
      />
      <button type="submit" class="quiet">
        Nobody could let us in
      </button>
    </form>
  );
}
