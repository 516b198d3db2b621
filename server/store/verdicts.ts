import { and, desc, eq, isNull, sql } from "drizzle-orm";
import { type Chance, newId } from "../chance.ts";
import { type StretchId, verdictId } from "../domain/ids.ts";
import type { Instant } from "../domain/units.ts";
import type { HeldVerdict, Verdict } from "../domain/verdicts/verdict.ts";
import { type Database, preparedOnce } from "./database.ts";
import { verdict as verdicts } from "./schema/verdicts.ts";

const held = {
  verdict: verdicts.verdict,
  computedAt: verdicts.computedAt,
  supersededAt: verdicts.supersededAt,
};

/** A probability that moved by less than this is the same answer. */
const smallestMove = 0.01;

/** Saves a verdict where it says something new: another outcome, leading side or cause, a probability moved by a
 *  hundredth, or another span or sentence, as where late data have filled it (those of an open stretch move with the
 *  clock and alone are nothing new). The one held before stays, with the time until which it was held.
 *  @returns whether it was new */
export function saveVerdict(
  services: { readonly chance: Chance },
  db: Database,
  entry: {
    readonly stretch: StretchId;
    readonly ongoing: boolean;
    readonly verdict: Verdict;
    readonly at: Instant;
  },
): boolean {
  const { stretch, verdict, at, ongoing } = entry;
  const before = currentVerdict(db, stretch);
  if (before && !saysSomethingNew(before.verdict, verdict, ongoing)) return false;
  if (before) superseded(db).run({ stretch, at });
  inserted(db).run({
    id: verdictId(newId(services.chance, "verdict")),
    stretch,
    at,
    outcome: verdict.outcome,
    probability: Math.round(verdict.probability * 1e6),
    verdict,
  });
  return true;
}

const stillHeld = and(eq(verdicts.stretchId, sql.placeholder("stretch")), isNull(verdicts.supersededAt));

const superseded = preparedOnce((db) =>
  db
    .update(verdicts)
    .set({ supersededAt: sql`${sql.placeholder("at")}` })
    .where(stillHeld)
    .prepare(),
);

const inserted = preparedOnce((db) =>
  db
    .insert(verdicts)
    .values({
      id: sql.placeholder("id"),
      stretchId: sql.placeholder("stretch"),
      computedAt: sql.placeholder("at"),
      outcome: sql.placeholder("outcome"),
      probability: sql.placeholder("probability"),
      verdict: sql.placeholder("verdict"),
    })
    .prepare(),
);

function saysSomethingNew(before: Verdict, now: Verdict, ongoing: boolean): boolean {
  return (
    before.outcome !== now.outcome ||
    before.leadingSide !== now.leadingSide ||
    before.causes[0]?.cause !== now.causes[0]?.cause ||
    Math.abs(before.probability - now.probability) >= smallestMove ||
    before.span.start !== now.span.start ||
    (!ongoing && (before.span.end !== now.span.end || before.sentence !== now.sentence))
  );
}

export const currentVerdict = (db: Database, stretch: StretchId): HeldVerdict | null =>
  current(db).get({ stretch }) ?? null;

const current = preparedOnce((db) => db.select(held).from(verdicts).where(stillHeld).prepare());

/** Newest first. */
export const verdictHistory = (db: Database, stretch: StretchId): readonly HeldVerdict[] =>
  db
    .select(held)
    .from(verdicts)
    .where(eq(verdicts.stretchId, stretch))
    .orderBy(desc(verdicts.computedAt))
    .all();
