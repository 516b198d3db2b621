import { whereWords } from "../../server/domain/lifecycle/moves.ts";
import type { Place } from "../../server/domain/lifecycle/place.ts";
import {
  needsSignOff,
  placeContradicts,
  type RecallOutcome,
  recallOutcomes,
  recallOutcomeWords,
} from "../../server/domain/lifecycle/recall-balance.ts";
import type { Instant } from "../../server/domain/units.ts";
import { CsrfField, type Typed, typedText } from "../layout/forms.tsx";
import { dateTimeWords } from "../layout/words.ts";
import type { StoresFrame } from "./frame.ts";

export interface RecallUnitShown {
  readonly serial: string;
  readonly outcome: RecallOutcome;
  readonly note: string;
  readonly signedOffName: string | null;
  readonly changedAt: Instant;
  readonly place: Place;
  readonly size: string;
}

export interface RecallLoan {
  readonly id: string;
  readonly reference: string;
  readonly borrowerName: string;
  readonly phone: string;
  readonly endedAt: Instant | null;
}

interface RecallUnitRowProps {
  readonly frame: StoresFrame;
  readonly recall: { readonly id: string; readonly closedAt: Instant | null };
  readonly unit: RecallUnitShown;
  readonly loans: readonly RecallLoan[];
  readonly typed?: Typed | undefined;
}

/** One affected unit: where it is, whom it was lent to, what became of it, and the form to say so. */
export function RecallUnitRow(props: RecallUnitRowProps) {
  const { frame, unit } = props;
  return (
    <li id={`unit-${unit.serial}`} class={unit.outcome === "outstanding" ? "outstanding" : undefined}>
      <div class="recall-facts">
        <h3>
          <a href={`/stores/units/${unit.serial}`}>{unit.serial}</a>, {unit.size}: {whereWords[unit.place]}
        </h3>
        <Loans {...props} />
        <p>
          {unit.outcome === "outstanding" ? (
            <strong class="warning">
              <span aria-hidden="true">⚠</span> Outstanding
            </strong>
          ) : (
            <>
              <strong>{capital(recallOutcomeWords[unit.outcome])}</strong>, recorded on{" "}
              {dateTimeWords(unit.changedAt, frame.zone)}: “{unit.note}”
            </>
          )}
        </p>
        <SignOff {...props} />
      </div>
      <OutcomeForm {...props} />
    </li>
  );
}

function Loans({ loans }: RecallUnitRowProps) {
  if (loans.length === 0) return <p class="soft">Never lent.</p>;
  return (
    <ul class="plain">
      {loans.map((loan) => (
        <li>
          {loan.endedAt === null ? "With" : "Was with"} {loan.borrowerName}, phone {loan.phone} (
          <a class="ref" href={`/stores/loans/${loan.id}`}>
            {loan.reference}
          </a>
          )
          {loan.endedAt === null ? (
            <>
              .{" "}
              <a href={`/stores/loans/${loan.id}/swap`} class="screen-only">
                Plan a swap for {loan.reference}
              </a>
            </>
          ) : null}
        </li>
      ))}
    </ul>
  );
}

function SignOff({ frame, recall, unit }: RecallUnitRowProps) {
  if (!needsSignOff(unit.outcome)) return null;
  if (unit.signedOffName !== null) return <p>Signed off by {unit.signedOffName}.</p>;
  if (recall.closedAt !== null) return null;
  return (
    <form method="post" action={`/stores/recalls/${recall.id}/sign-off`}>
      <CsrfField signedIn={frame.signedIn} />
      <input type="hidden" name="unit" value={unit.serial} />
      <input type="hidden" name="outcome" value={unit.outcome} />
      <button type="submit" class="grave">
        Sign off in my name, {frame.signedIn.staff.name}
      </button>
    </form>
  );
}

function OutcomeForm({ frame, recall, unit, typed }: RecallUnitRowProps) {
  const possible = recallOutcomes.filter(
    (outcome) =>
      outcome !== unit.outcome &&
      placeContradicts(outcome, unit.place) === null &&
      (recall.closedAt === null || outcome === "corrected-in-place" || outcome === "scrapped-with-evidence"),
  );
  if (possible.length === 0) return null;
  const id = (name: string) => `${name}-${unit.serial}`;
  return (
    <details open={typed !== undefined}>
      <summary>
        {unit.outcome === "outstanding" ? "Record its outcome" : "Change its outcome"}
        <span class="seen-by-readers-only"> for {unit.serial}</span>
      </summary>
      <form class="form" method="post" action={`/stores/recalls/${recall.id}/outcome`}>
        <CsrfField signedIn={frame.signedIn} />
        <input type="hidden" name="unit" value={unit.serial} />
        <div class="field">
          <label for={id("outcome")}>Outcome</label>
          <p class="hint">Only what agrees with where the unit is: move it first for the others.</p>
          <select id={id("outcome")} name="outcome">
            {possible.map((outcome) => (
              <option value={outcome} selected={typedText(typed, "outcome") === outcome}>
                {recallOutcomeWords[outcome]}
              </option>
            ))}
          </select>
        </div>
        <div class="field">
          <label for={id("evidence")}>What shows it</label>
          <input
            id={id("evidence")}
            name="evidence"
            value={typedText(typed, "evidence")}
            autocomplete="off"
          />
        </div>
        <button type="submit">Record it</button>
      </form>
    </details>
  );
}

const capital = (words: string): string => words.charAt(0).toUpperCase() + words.slice(1);
