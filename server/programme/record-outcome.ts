import { newId } from "../chance.ts";
import { outcomeId, type StretchId } from "../domain/ids.ts";
import type { OutcomeSource } from "../domain/learning/outcome.ts";
import { between } from "../domain/units.ts";
import { priorTableFor } from "../domain/verdicts/causes.ts";
import { gapObservations } from "../domain/verdicts/gap-observations.ts";
import { thinObservations } from "../domain/verdicts/thin-observations.ts";
import type { Side } from "../domain/verdicts/verdict.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import type { Database } from "../store/database.ts";
import { insertOutcome, stretchWithLoan } from "../store/stretch-outcomes.ts";
import { currentVerdict } from "../store/verdicts.ts";
import { gapContextOf } from "./gap-context.ts";
import { learnedShares } from "./learned-shares.ts";
import { loanDays } from "./loan-days.ts";
import type { StaffActor } from "./staff-actor.ts";
import { thinContextOf } from "./thin-context.ts";

export interface FoundOut {
  readonly stretch: StretchId;
  readonly source: OutcomeSource;
  readonly side: Side;
  readonly cause: string | null;
}

/** What was seen of the stretch: one value a clue. Read before the transaction that records the outcome. */
export type CluesSeen = readonly (readonly [string, string])[];

export async function cluesSeen(services: Services, id: StretchId): Promise<CluesSeen> {
  const found = stretchWithLoan(services.db, id);
  if (!found) return [];
  const { loan, stretch: row } = found;
  const stretch = { ...row, loan: row.loanId, start: row.startsAt, end: row.endsAt };
  const days = loanDays(services);
  const observations =
    row.kind === "gap"
      ? gapObservations(await gapContextOf(services, loan, stretch, days), services.zone)
      : thinObservations(await thinContextOf(services, loan, stretch, days), services.zone);
  return observations.flatMap(({ clue, values }) => {
    const [value, ...more] = values;
    return value === undefined || more.length > 0 ? [] : [[clue, value] as const];
  });
}

/** Keeps what a stretch turned out to be, with the verdict it scores. Learned from: never from a verdict itself. Call it
 *  in the transaction of whatever found it out. */
export function recordOutcome(
  services: Services,
  tx: Database,
  actor: StaffActor,
  found: FoundOut & { readonly clues: CluesSeen },
): void {
  const at = services.clock.now();
  const row = stretchWithLoan(tx, found.stretch)?.stretch;
  if (!row) return;
  const before = inForce(tx);
  insertOutcome(tx, {
    id: outcomeId(newId(services.chance, "outcome")),
    stretchId: found.stretch,
    source: found.source,
    side: found.side,
    cause: found.cause,
    held: currentVerdict(tx, found.stretch)?.verdict ?? null,
    priorTable: priorTableFor(row.kind, between(row.startsAt, row.endsAt ?? at)),
    clues: found.clues,
    recordedBy: actor.id,
    recordedAt: at,
  });
  appendAudit(tx, {
    at,
    actor,
    action: "record-outcome",
    subject: `stretch:${found.stretch}`,
    detail: { source: found.source, side: found.side, cause: found.cause },
  });
  for (const table of inForce(tx).filter((name) => !before.includes(name)))
    appendAudit(tx, {
      at,
      actor: { kind: "system" },
      action: "put-learned-shares-in-force",
      subject: `shares:${table}`,
      detail: { table },
    });
}

const inForce = (db: Database) => learnedShares(db).flatMap((one) => (one.inForce ? [one.table] : []));
