import { findingId, type StretchId, stretchId } from "../../server/domain/ids.ts";
import { type MinuteState, minuteStates } from "../../server/domain/ledger/minute-state.ts";
import {
  addDays,
  dayBounds,
  instantAt,
  type LocalDay,
  localDayOf,
} from "../../server/domain/time/local-day.ts";
import { type Instant, instant } from "../../server/domain/units.ts";
import { judgeAgain } from "../../server/programme/judge-again.ts";
import { loanById } from "../../server/store/loans.ts";
import { finding, unitAssessment } from "../../server/store/schema/health.ts";
import { loan } from "../../server/store/schema/loans.ts";
import { ledgerDay } from "../../server/store/schema/record.ts";
import { stretch } from "../../server/store/schema/verdicts.ts";
import { type TestServices, testZone, things } from "../support/cast.ts";

/** A fortnight of ledger days for the lent unit: seated 08:00 to 20:00 with two of three due reliefs met, on charge
 *  from 22:00, and a gap on one of them. Only what the clinic's pages read. */
export function recordedFortnight(services: TestServices): {
  readonly gap: StretchId;
  readonly gapDay: LocalDay;
} {
  const today = localDayOf(services.clock.now(), testZone);
  const gapDay = addDays(today, -2);
  services.db
    .update(loan)
    .set({ startedAt: instantAt(addDays(today, -13), 0, 0, testZone) })
    .run();
  for (let ago = 13; ago >= 1; ago -= 1) {
    const day = addDays(today, -ago);
    services.db
      .insert(ledgerDay)
      .values(ledgerRow(day, day === gapDay, services.clock.now()))
      .run();
  }
  const gap = stretchId("stretch_gap");
  const at = (hour: number) => instantAt(gapDay, hour, 0, testZone);
  services.db
    .insert(stretch)
    .values({
      id: gap,
      loanId: things.loan,
      kind: "gap",
      startsAt: at(14),
      endsAt: at(17),
      firstSeenAt: at(15),
    })
    .run();
  return { gap, gapDay };
}

function ledgerRow(day: LocalDay, withGap: boolean, reviewedAt: Instant) {
  const { start, end } = dayBounds(day, testZone);
  const at = (hour: number) => instantAt(day, hour, 0, testZone);
  const run = (state: MinuteState, from: number, to: number) =>
    [minuteStates.indexOf(state), from, to] as const;
  const runs = [
    run("off", start, at(8)),
    ...(withGap
      ? [run("seated", at(8), at(14)), run("no-record", at(14), at(17)), run("seated", at(17), at(20))]
      : [run("seated", at(8), at(20))]),
    run("off", at(20), at(22)),
    run("on-charge", at(22), end),
  ];
  const due = Array.from({ length: 24 }, (_, index) => {
    const dueAt = instant(at(8) + (index + 1) * 1_800_000);
    const unseen = withGap && dueAt > at(14) && dueAt <= at(17);
    return [dueAt, unseen ? "not-assessable" : index % 3 === 2 ? "missed" : "met"] as const;
  });
  const count = (outcome: string) => due.filter(([, one]) => one === outcome).length;
  return {
    loanId: things.loan,
    day,
    startsAt: start,
    endsAt: end,
    runs,
    due,
    met: count("met"),
    missed: count("missed"),
    notAssessable: count("not-assessable"),
    reviewedAt,
  };
}

export async function judged(services: TestServices): Promise<void> {
  const lent = loanById(services.db, things.loan);
  if (!lent) throw new Error("no loan");
  await judgeAgain(services, lent, { start: instant(0), end: services.clock.now() });
}

/** From `since` on, a dead column hides leans to the left. */
export function deadColumn(services: TestServices, since: Instant): void {
  services.db
    .insert(unitAssessment)
    .values({
      unitSerial: things.lentUnit,
      assessedAt: services.clock.now(),
      level: "act-soon",
      reason: "",
      nextStep: "",
      visibility: { left: { low: 0, best: 1, high: 3 }, right: { low: 8, best: 9, high: 10 } },
    })
    .run();
  services.db
    .insert(finding)
    .values({
      id: findingId("finding_column"),
      unitSerial: things.lentUnit,
      kind: "column-open",
      place: "column 7, right side",
      level: "act-soon",
      probability: 950_000,
      sentence: "",
      mistakenFor: "",
      settledBy: "",
      since,
      lastSeenAt: services.clock.now(),
    })
    .run();
}
