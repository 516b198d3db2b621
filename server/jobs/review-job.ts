import type { UnitSerial } from "../domain/ids.ts";
import { type Instant, instant, millisecondsIn } from "../domain/units.ts";
import { type Assessing, assessedTogether } from "../programme/assess-units.ts";
import type { Services } from "../services.ts";
import { unitsWithLoanSince } from "../store/review-marks.ts";

export interface ReviewWork {
  readonly reviewUnit: (
    services: Services,
    unit: UnitSerial,
    options: { readonly afresh: boolean },
  ) => Promise<boolean>;
  /** The health of the units themselves, saved together; costs more, and is done seldom. */
  readonly assessUnits: (services: Services, units: readonly UnitSerial[], how: Assessing) => Promise<void>;
  /** What is looked for beside it, once a unit was assessed. */
  readonly lookFurther?: (services: Services, unit: UnitSerial) => Promise<void>;
  /** Whether what has just come in can't wait for the next assessment: heat, wet, a charge outside its limits. */
  readonly isUrgent?: (services: Services, unit: UnitSerial) => Promise<boolean>;
  /** What units do together; after each round over all of them. */
  readonly watchFleet?: (services: Services) => Promise<void>;
}

export interface ReviewJob {
  /** Telemetry has come in. Returns at once; many calls within a second make one round.
   *  @param alarmed told of something that may be a hazard: assessed at once, before any unit that waits, however lately
   *  that was done */
  wake(units?: Iterable<UnitSerial>, alarmed?: Iterable<UnitSerial>): void;
  /** Reviews everything there is to review now, after a round that may be going on.
   *  @param options.assess also assesses every unit reviewed, however lately that was done
   *  @param options.afresh works through every day again: a setting has changed */
  runNow(options?: { readonly assess?: boolean; readonly afresh?: boolean }): Promise<void>;
  /** Starts no new work, and resolves when the unit in hand is done. */
  stop(): Promise<void>;
}

interface Round {
  readonly scope: "news" | "all";
  readonly assess: boolean;
  readonly afresh: boolean;
}

const wakeDelay = 1_000;
const roundEvery = millisecondsIn.minute;
const assessEvery = 5 * millisecondsIn.minute;
/** A loan's last day is closed off within this time after its end. */
const endedLately = 24 * millisecondsIn.hour;

/** Keeps ledgers, verdicts and health up to date: when something arrives, and each minute, for silence is news too.
 *  One unit at a time, but that the health of some is saved together; one that fails is logged and doesn't stop the rest. */
export function startReviewJob(services: Services, work: ReviewWork): ReviewJob {
  const assessedAt = new Map<UnitSerial, Instant>();
  const woken = new Set<UnitSerial>();
  const alarms = new Set<UnitSerial>();
  let stopping = false;
  let wakeTimer: NodeJS.Timeout | null = null;
  let rounds: Promise<void> = Promise.resolve();

  const attempt = async (doing: string, unit: UnitSerial, act: () => Promise<unknown>): Promise<void> => {
    try {
      await act();
    } catch (error) {
      services.log.error({ err: error, unit }, `${doing} failed`);
    }
  };

  const isUrgent = async (unit: UnitSerial): Promise<boolean> => {
    let urgent = false;
    await attempt("looking for hazards", unit, async () => {
      urgent = (await work.isUrgent?.(services, unit)) ?? false;
    });
    return urgent;
  };

  /** Health first: a verdict asks what the unit could have seen. */
  const assess = async (units: readonly UnitSerial[], goOn: () => Promise<boolean>): Promise<void> => {
    const now = services.clock.now();
    for (const unit of units) assessedAt.set(unit, now);
    const failed = (unit: UnitSerial, err: unknown) => services.log.error({ err, unit }, "assessment failed");
    await work.assessUnits(services, units, { goOn, failed });
    for (const unit of units) {
      if (!(await goOn())) return;
      await attempt("looking further", unit, async () => work.lookFurther?.(services, unit));
    }
  };

  /** Between any two units of a round, so that a long round holds up no hazard. */
  const answerAlarms = async (): Promise<void> => {
    for (const unit of alarms) {
      if (stopping) return;
      alarms.delete(unit);
      await assess([unit], async () => true);
    }
  };

  /** Lets alarms, connections and pages have their turn between two units. */
  const nextUnit = async (): Promise<boolean> => {
    await new Promise((resolve) => setImmediate(resolve));
    await answerAlarms();
    return !stopping;
  };

  const assessThoseDue = async (units: readonly UnitSerial[], isAsked: boolean): Promise<void> => {
    const due: UnitSerial[] = [];
    for (const unit of units) {
      const last = assessedAt.get(unit);
      if (isAsked || last === undefined || services.clock.now() - last >= assessEvery) due.push(unit);
      else if (await isUrgent(unit)) await assess([unit], async () => true);
    }
    if (due.length > 0) await assess(due, nextUnit);
  };

  const unitsOf = async ({ scope }: Round): Promise<Set<UnitSerial>> => {
    const units = new Set(woken);
    woken.clear();
    for (const { unit } of await services.telemetry.unreviewed()) units.add(unit);
    if (scope === "all") {
      const since = instant(services.clock.now() - endedLately);
      for (const unit of unitsWithLoanSince(services.db, since)) units.add(unit);
    }
    return units;
  };

  const run = async (round: Round): Promise<void> => {
    if (stopping) return;
    try {
      const units = [...(await unitsOf(round))];
      for (let next = 0; next < units.length; next += assessedTogether) {
        const some = units.slice(next, next + assessedTogether);
        await assessThoseDue(some, round.assess);
        for (const unit of some) {
          if (!(await nextUnit())) return;
          await attempt("review", unit, () => work.reviewUnit(services, unit, round));
        }
      }
      if (round.scope === "all") await work.watchFleet?.(services);
    } catch (error) {
      services.log.error({ err: error }, "a review round failed");
    }
  };
  const enqueue = (round: Round): Promise<void> => {
    rounds = rounds.then(() => run(round));
    return rounds;
  };

  let minuteWaits = false;
  const everyMinute = setInterval(() => {
    // A round that takes longer than a minute must not pile up others behind it.
    if (minuteWaits) return;
    minuteWaits = true;
    void enqueue({ scope: "all", assess: false, afresh: false }).finally(() => {
      minuteWaits = false;
    });
  }, roundEvery);
  return {
    wake: (units = [], alarmed = []) => {
      for (const unit of units) woken.add(unit);
      const before = alarms.size;
      for (const unit of alarmed) alarms.add(unit);
      if (before === 0 && alarms.size > 0 && !stopping) rounds = rounds.then(answerAlarms);
      if (wakeTimer || stopping) return;
      wakeTimer = setTimeout(() => {
        wakeTimer = null;
        void enqueue({ scope: "news", assess: false, afresh: false });
      }, wakeDelay);
    },
    runNow: (options = {}) =>
      enqueue({ scope: "all", assess: options.assess ?? false, afresh: options.afresh ?? false }),
    stop: async () => {
      stopping = true;
      clearInterval(everyMinute);
      if (wakeTimer) clearTimeout(wakeTimer);
      await rounds;
    },
  };
}
