import type { RecallBalance } from "../../server/domain/lifecycle/recall-balance.ts";
import type { Instant } from "../../server/domain/units.ts";
import { Caution } from "../layout/caution.tsx";
import { counted } from "../layout/counted.ts";
import { CsrfField, Problems, type Typed } from "../layout/forms.tsx";
import { Page } from "../layout/page.tsx";
import { dateTimeWords } from "../layout/words.ts";
import type { StoresFrame } from "./frame.ts";
import { RecallBalanceTable } from "./recall-balance-table.tsx";
import { type RecallLoan, RecallUnitRow, type RecallUnitShown } from "./recall-unit-row.tsx";

interface RecallPageProps {
  readonly frame: StoresFrame;
  readonly recall: {
    readonly id: string;
    readonly reference: string;
    readonly title: string;
    readonly advice: string;
    readonly criterion: "lot" | "firmware";
    readonly criterionValue: string;
    readonly openedAt: Instant;
    readonly closedAt: Instant | null;
  };
  readonly openedBy: string;
  readonly closedBy: string | null;
  readonly units: readonly RecallUnitShown[];
  readonly loans: ReadonlyMap<string, readonly RecallLoan[]>;
  readonly balance: RecallBalance;
  readonly unlisted: readonly string[];
  /** Why it can't close yet; null when it can. */
  readonly cannotClose: string | null;
  readonly problems?: Problems | undefined;
  /** The unit whose form came back, and what it held. */
  readonly again?: { readonly serial: string; readonly typed: Typed } | undefined;
}

export function RecallPage(props: RecallPageProps) {
  const { frame, recall, problems } = props;
  return (
    <Page title={`Recall ${recall.reference}`} {...frame}>
      <h1>
        Recall {recall.reference}: {recall.title}
      </h1>
      <Problems errors={problems} />
      <p class="sentence">
        Takes back every unit of {recall.criterion} {recall.criterionValue}. Opened by {props.openedBy} on{" "}
        {dateTimeWords(recall.openedAt, frame.zone)}
        {recall.closedAt === null
          ? "."
          : `, closed by ${props.closedBy ?? "someone"} on ${dateTimeWords(recall.closedAt, frame.zone)}.`}
      </p>
      <blockquote class="told">
        <strong>What a borrower is to do:</strong> {recall.advice}
      </blockquote>
      <Caution>
        Told is not yet acted: a call or a letter leaves a unit outstanding until something has happened to
        it. No cushion is taken away without an equivalent surface in place.
      </Caution>
      <Balance {...props} />
      <Unlisted {...props} />
      <section>
        <h2>Each unit</h2>
        <ul class="recall-list">
          {props.units.map((unit) => (
            <RecallUnitRow
              frame={frame}
              recall={recall}
              unit={unit}
              loans={props.loans.get(unit.serial) ?? []}
              typed={props.again?.serial === unit.serial ? props.again.typed : undefined}
            />
          ))}
        </ul>
      </section>
    </Page>
  );
}

function Balance({ frame, recall, balance, cannotClose }: RecallPageProps) {
  return (
    <section>
      <h2>The count</h2>
      <RecallBalanceTable balance={balance} />
      {recall.closedAt !== null ? null : cannotClose === null ? (
        <form method="post" action={`/stores/recalls/${recall.id}/close`}>
          <CsrfField signedIn={frame.signedIn} />
          <p>
            Every unit is accounted for. Units that were not corrected stay barred from issue after closing.
          </p>
          <button type="submit">Close the recall</button>
        </form>
      ) : (
        <p>
          <strong>It can’t close yet.</strong> {cannotClose}
        </p>
      )}
    </section>
  );
}

function Unlisted({ frame, recall, unlisted }: RecallPageProps) {
  if (unlisted.length === 0 || recall.closedAt !== null) return null;
  return (
    <section>
      <h2>Not on the list yet</h2>
      <p>
        {counted(unlisted.length, "unit")} {unlisted.length === 1 ? "matches" : "match"} this recall since it
        was opened: {unlisted.slice(0, 10).join(", ")}. Issue is barred already.
      </p>
      <form method="post" action={`/stores/recalls/${recall.id}/list-more`}>
        <CsrfField signedIn={frame.signedIn} />
        <button type="submit">Put them on the list</button>
      </form>
    </section>
  );
}
