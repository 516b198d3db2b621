import type { ReliefKind } from "../../firmware-protocol/src/messages.ts";
import { CushionConnection } from "../../scripts/simulated-cushions/connection.ts";
import { SimulatedCushion } from "../../scripts/simulated-cushions/cushion.ts";
import { Delivery } from "../../scripts/simulated-cushions/delivery.ts";
import {
  type Enrolled,
  type EnrolOutcome,
  enrol,
  makeUnitKey,
} from "../../scripts/simulated-cushions/enrol.ts";
import type { Fault, Outage } from "../../scripts/simulated-cushions/faults.ts";
import type { Habits, Person, ReliefHabit } from "../../scripts/simulated-cushions/person.ts";
import { noTruth } from "../../scripts/simulated-cushions/truth.ts";
import { type BorrowerId, type LoanId, unitSerial } from "../../server/domain/ids.ts";
import { localDayOf } from "../../server/domain/time/local-day.ts";
import { type Instant, instant, millisecondsIn, minutes, seconds } from "../../server/domain/units.ts";
import { issuePairingCode } from "../../server/enrolment/issue-pairing-code.ts";
import { addBorrower } from "../../server/programme/add-borrower.ts";
import { openLoan } from "../../server/programme/open-loan.ts";
import { setReliefPlan } from "../../server/programme/set-relief-plan.ts";
import { testZone } from "./cast.ts";
import { done, grid, type Programme, seat } from "./programme.ts";

/** Regular days with as little chance in them as a person can have: a story must not turn on the date it is told. */
const regular: Habits = {
  weightKilograms: seat.weight,
  leftOverRight: 1,
  upMinute: 7 * 60 + 20,
  bedMinute: 22 * 60 + 30,
  weekendLieInMinutes: 0,
  seatedHours: { mean: 11, deviation: 0 },
  transfers: { mean: 8, deviation: 0 },
  outings: [],
  charging: { atBedtime: 1, daytime: [] },
  reliefs: {
    fullPerSeatedHour: 2,
    shiftsPerSeatedHour: 1,
    answersPrompt: 0.9,
    kinds: [
      ["lean-left", 3],
      ["lean-right", 3],
      ["lean-forward", 2],
    ],
    holdSeconds: { mean: 105, deviation: 12 },
    depth: { mean: 0.62, deviation: 0.04 },
  },
};

export interface HomeStory {
  readonly borrower: string;
  readonly serial: string;
  readonly faults?: readonly Fault[];
  readonly outages?: readonly Outage[];
  readonly person?: Partial<Person>;
  readonly kinds?: readonly (readonly [ReliefKind, number])[];
  readonly depth?: ReliefHabit["depth"];
}

export interface Home {
  readonly borrower: BorrowerId;
  readonly loan: LoanId;
  readonly serial: string;
  readonly delivery: Delivery;
}

/** A borrower of the clinician's, with a plan: what a loan needs before it can be opened. */
export function addPerson(programme: Programme, name: string): BorrowerId {
  const { services } = programme.running;
  const { borrower } = done(
    addBorrower(services, programme.actor("coordinator"), {
      name,
      area: "North",
      address: "1 Invented Row",
      phone: "none",
      weight: seat.weight,
      seatWidth: seat.width,
      seatDepth: seat.depth,
      clinicianId: programme.staff.clinician,
    }),
  );
  done(
    setReliefPlan(services, programme.actor("clinician"), {
      borrower,
      from: localDayOf(services.clock.now(), services.zone),
      interval: minutes(30),
      hold: seconds(60),
      kinds: ["lean-left", "lean-right", "lean-forward"],
    }),
  );
  return borrower;
}

/** Opens a loan without the pages, for what a story only needs to have happened. */
export function lend(programme: Programme, borrower: BorrowerId, serial: string): LoanId {
  const request = { unit: unitSerial(serial), borrower, dueBackOn: null };
  return done(openLoan(programme.running.services, programme.actor("coordinator"), request)).loan;
}

export async function codeOf(programme: Programme, loan: LoanId): Promise<string> {
  const { services, enrolment } = programme.running;
  return done(await issuePairingCode(services, enrolment, programme.actor("coordinator"), loan)).jws;
}

/** A unit claims a code as it does in a home: over HTTP, with a key it has just made. */
export async function claim(programme: Programme, serial: string, code: string): Promise<EnrolOutcome> {
  return enrol(programme.url, serial, code, await makeUnitKey(serial));
}

export function enrolled(outcome: EnrolOutcome): Enrolled {
  if (outcome.kind === "enrolled") return outcome.enrolled;
  throw new Error(`the unit was refused: ${outcome.refusal.message}`);
}

/** The unit's own session with the broker. */
export const connect = (unit: Enrolled): Promise<CushionConnection> =>
  CushionConnection.open(unit, {
    onMessage: () => undefined,
    onUnreadableCommand: () => undefined,
    onNoPlan: () => undefined,
    connectSeconds: 5,
  });

/** A cushion begins to live under a person. */
export function cushionOf(story: HomeStory, unit: Enrolled, at: Instant): Delivery {
  const { kinds = regular.reliefs.kinds, depth = regular.reliefs.depth } = story;
  const reliefs = { ...regular.reliefs, kinds, depth };
  const cushion = new SimulatedCushion(
    {
      serial: story.serial,
      firmware: "2.4.1",
      hardware: "C",
      grid,
      battery: { ratedMilliampHours: 1_200, health: 0.96, charge: 0.9 },
      storeLimit: 3_000,
      clockDriftPartsPerMillion: 12,
      faults: story.faults ?? [],
      radio: { signal: { mean: -62, deviation: 3 }, outages: story.outages ?? [] },
    },
    {
      person: { habits: { ...regular, reliefs }, changes: [], absences: [], ...story.person },
      personSeed: story.borrower,
      zone: testZone,
    },
    "stories",
    at,
    noTruth,
  );
  cushion.follow(unit.plan);
  return new Delivery(cushion, unit);
}

/** From nothing to a cushion that lives in somebody's home. */
export async function moveIn(programme: Programme, story: HomeStory): Promise<Home> {
  const borrower = addPerson(programme, story.borrower);
  const loan = lend(programme, borrower, story.serial);
  const unit = enrolled(await claim(programme, story.serial, await codeOf(programme, loan)));
  const delivery = cushionOf(story, unit, programme.clock.now());
  await deliver(delivery, programme.clock.now());
  return { borrower, loan, serial: story.serial, delivery };
}

/** Sends what the cushion has to say, if it has anything and a way to say it. */
export async function deliver(delivery: Delivery, at: Instant): Promise<void> {
  const report = await delivery.deliver(at, 20);
  if (report.problem !== null) throw new Error(`a cushion could not deliver: ${report.problem}`);
}

const hoursBetweenReviews = 24;

/** Plays the programme's past through the broker, an hour at a time, so that what is late has really arrived late. */
export async function live(programme: Programme, homes: readonly Home[], until: Instant): Promise<void> {
  const { clock, running } = programme;
  let hours = 0;
  while (clock.now() < until) {
    clock.set(instant(Math.min(until, nextTick(clock.now()))));
    for (const { delivery } of homes) delivery.cushion.advance(clock.now());
    await Promise.all(homes.map(({ delivery }) => deliver(delivery, clock.now())));
    hours += 1;
    if (hours % hoursBetweenReviews === 0) await running.reviews.runNow();
  }
  await running.reviews.runNow({ assess: true });
}

/** Two minutes past each hour: a unit that reports on the hour has then done so. */
const nextTick = (from: Instant): number =>
  (Math.floor((from - 2 * millisecondsIn.minute) / millisecondsIn.hour) + 1) * millisecondsIn.hour +
  2 * millisecondsIn.minute;

export const hangUp = (homes: readonly Home[]): Promise<unknown> =>
  Promise.all(homes.map(({ delivery }) => delivery.hangUp()));

/** Two minutes past two in the afternoon on the programme's wall clock, the last time before now: the day behind it is
 *  full of sitting, the hour's reports are in, and whatever a story adds still lies before the real time. */
export function lastAfternoon(now: number): Instant {
  const hour = new Intl.DateTimeFormat("en-GB", { hour: "2-digit", hourCycle: "h23", timeZone: testZone });
  let at = Math.floor((now - millisecondsIn.hour) / millisecondsIn.hour) * millisecondsIn.hour;
  while (hour.format(at) !== "14") at -= millisecondsIn.hour;
  return instant(at + 2 * millisecondsIn.minute);
}
