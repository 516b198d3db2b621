import { type Instant, instant, millisecondsIn } from "../../server/domain/units.ts";
import { type Home, hangUp, lastAfternoon, live, moveIn } from "./homes.ts";
import { addStock, type Programme, startProgramme } from "./programme.ts";

const { hour, minute } = millisecondsIn;
const day = 24 * hour;
const daysTold = 6;
const soundDays = 3;
/** Column 6 of ten, from the person's left: under the right sit bone. */
export const deadColumn = 6;

/** A week in a small programme, played through the broker up to yesterday's or today's early afternoon. */
export interface ToldProgramme extends Programme {
  readonly homes: readonly Home[];
  /** Nothing happens: what a good record looks like. */
  readonly steady: Home;
  /** A column of its grid died half way; it had left leans for nearly all reliefs. */
  readonly column: Home;
  /** Its relay has been off since last evening. */
  readonly late: Home;
  /** When the relay is on again, and what was kept back can be delivered. */
  readonly relayReturnsAt: Instant;
}

export async function tellProgramme(): Promise<ToldProgramme> {
  const toldUntil = lastAfternoon(Date.now());
  const startsAt = instant(toldUntil - daysTold * day);
  const relayReturnsAt = instant(toldUntil + 5 * minute);
  const programme = await startProgramme(startsAt);
  for (const serial of ["CU-000201", "CU-000202", "CU-000203"]) addStock(programme, serial);
  const steady = await moveIn(programme, { borrower: "Person Steady", serial: "CU-000201" });
  const column = await moveIn(programme, {
    borrower: "Person Column",
    serial: "CU-000202",
    kinds: [
      ["lean-left", 9],
      ["lean-forward", 0.5],
    ],
    depth: { mean: 0.52, deviation: 0.035 },
    faults: [{ kind: "column-open", from: startsAt + soundDays * day, column: deadColumn }],
  });
  const late = await moveIn(programme, {
    borrower: "Person Late",
    serial: "CU-000203",
    outages: [{ what: "relay", from: toldUntil - 20 * hour, until: relayReturnsAt }],
  });
  const homes = [steady, column, late];
  await live(programme, homes, toldUntil);
  const stop = async () => {
    await hangUp(homes);
    await programme.stop();
  };
  return { ...programme, homes, steady, column, late, relayReturnsAt, stop };
}
