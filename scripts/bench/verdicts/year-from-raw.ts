import type { UplinkMessage } from "../../../firmware-protocol/src/messages.ts";
import { planId } from "../../../server/domain/ids.ts";
import { instant, millisecondsIn, minutes, seconds } from "../../../server/domain/units.ts";
import { reviewUnit } from "../../../server/programme/review-unit.ts";
import type { Services } from "../../../server/services.ts";
import { loansOfUnit } from "../../../server/store/loans.ts";
import { insertReliefPlan } from "../../../server/store/relief-plans.ts";
import { loan } from "../../../server/store/schema/loans.ts";
import { staff } from "../../../server/store/schema/staff.ts";
import { fleetStart } from "../health/fleet.ts";
import { beforeNext, deliver, inFolder, messagesOf } from "../health/lived-in-store.ts";
import { benchUnit } from "../ingest/life.ts";
import { programmeFolder } from "../ingest/programme-folder.ts";

export interface FromRaw {
  /** Processor time of a review of everything afresh: from the stored messages to ledger, stretches and saved verdicts. */
  readonly yearMilliseconds: number;
  /** The same of one day more, as it comes in, times ten thousand. */
  readonly moreDaySeconds: number;
}

/** Reviews afresh: the best of them is told, for the first are slowed down by the engine's own compiling. */
const afreshTurns = 20;
/** Days that come one by one after the year. Ten thousand units are ten thousand reviews: the first, in which the engine
 *  still compiles, are left out. */
const daysToWarm = 60;
const daysMore = 60;

/** One simulated unit through the store, as the service does it: the best of some reviews afresh, and the mean of two
 *  months' days more. Packing goes on in between, as in the service, and is not in the time. The unit is alone: what a
 *  silence costs that thousands of neighbours share, whose gaps are judged again with it, is not measured. */
export async function yearFromRaw(seed: number, days: number): Promise<FromRaw> {
  const folder = await programmeFolder(1);
  const unit = benchUnit(0);
  const messages = withSilences(messagesOf(unit, `${seed}/year`, days + daysToWarm + daysMore + 1));
  const arrive = async (services: Services, one: number): Promise<void> => {
    const from = one === 0 ? fleetStart : beforeNext(one);
    await deliver(services, messages, from, beforeNext(one + 1));
  };
  const clock = { at: beforeNext(days) };
  try {
    return await inFolder(
      folder.dataFolder,
      () => clock.at,
      async (services) => {
        lend(services);
        for (let one = 0; one < days; one++) await arrive(services, one);
        while (await services.telemetry.tidy(clock.at, 1_000));
        const afresh: number[] = [];
        for (let turn = 0; turn < afreshTurns; turn++)
          afresh.push(await spentOn(() => reviewUnit(services, unit, { afresh: true })));
        const more: number[] = [];
        for (let one = days; one < days + daysToWarm + daysMore; one++) {
          clock.at = beforeNext(one + 1);
          await arrive(services, one);
          while (await services.telemetry.tidy(clock.at, 1_000));
          more.push(await spentOn(() => reviewUnit(services, unit)));
        }
        return {
          yearMilliseconds: Math.min(...afresh),
          moreDaySeconds: (10 * more.slice(daysToWarm).reduce((sum, one) => sum + one, 0)) / daysMore,
        };
      },
    );
  } finally {
    folder.remove();
  }
}

/** Days from one silence to the next, and hours that it lasts, in turn: some forty gaps a year. */
const silentEvery = 9;
const silentHours = [1, 3, 8, 20];

/** What was written in a silence never comes. */
function withSilences(messages: readonly UplinkMessage[]): readonly UplinkMessage[] {
  return messages.filter(({ wallSeconds }) => {
    const at = ((wallSeconds ?? 0) * 1_000 - fleetStart) / millisecondsIn.hour;
    const turn = Math.floor(at / (24 * silentEvery));
    const since = at - turn * 24 * silentEvery - (turn % 24);
    return turn === 0 || since < 0 || since >= (silentHours[turn % silentHours.length] ?? 0);
  });
}

/** A loan that has gone on from the first day, with a plan: without one nothing is due and no stretch is thin. */
function lend({ db }: Services): void {
  const start = instant(fleetStart);
  db.update(loan).set({ openedAt: start, startedAt: start }).run();
  const [lent] = loansOfUnit(db, benchUnit(0));
  const setBy = db.select().from(staff).get();
  if (!lent || !setBy) throw new Error("the bench's programme has no loan");
  insertReliefPlan(db, {
    id: planId("plan_bench"),
    borrowerId: lent.borrowerId,
    version: 1,
    validFrom: start,
    setBy: setBy.id,
    interval: minutes(30),
    hold: seconds(60),
    kinds: ["lean-left", "lean-right", "lean-forward", "lift"],
  });
}

async function spentOn(work: () => Promise<unknown>): Promise<number> {
  const begun = process.cpuUsage();
  await work();
  const { user, system } = process.cpuUsage(begun);
  return (user + system) / 1_000;
}
