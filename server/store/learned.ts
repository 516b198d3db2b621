import { desc, eq } from "drizzle-orm";
import type { StretchId } from "../domain/ids.ts";
import type { Database } from "./database.ts";
import { staff } from "./schema/staff.ts";
import { learned } from "./schema/verdicts.ts";

/** What clinicians learned of a stretch, newest first. */
export const learnedOf = (db: Database, stretch: StretchId) =>
  db
    .select({
      id: learned.id,
      agrees: learned.agrees,
      side: learned.side,
      text: learned.text,
      writtenAt: learned.writtenAt,
      writerName: staff.name,
    })
    .from(learned)
    .innerJoin(staff, eq(staff.id, learned.writtenBy))
    .where(eq(learned.stretchId, stretch))
    .orderBy(desc(learned.writtenAt))
    .all();

export function insertLearned(db: Database, row: typeof learned.$inferInsert): void {
  db.insert(learned).values(row).run();
}
