import type { ReliefHabit } from "../simulated-cushions/person.ts";
import { hour, type Moment, minute } from "../simulated-cushions/wall-clock.ts";
import type { Calendar } from "./calendar.ts";
import type { BorrowerKey } from "./invented-cast.ts";
import type { PlanAsked, Telling } from "./story.ts";

const hourly: PlanAsked = {
  intervalMinutes: 60,
  holdSeconds: 90,
  kinds: ["lift", "lean-left", "lean-right"],
};

/** Somebody whose left leans are nearly all there is: when those go, or go unseen, the record goes thin. */
const leansLeft: Partial<ReliefHabit> = {
  kinds: [
    ["lean-left", 9],
    ["lean-forward", 0.5],
  ],
  depth: { mean: 0.52, deviation: 0.035 },
};

/** How long after its start the demonstration's late relay comes back: two to three minutes after it is ready. */
export const lateRelayReturnsAfter = 3 * minute;

/** The evening on which nothing could reach the programme. */
export const programmeOutage = (calendar: Calendar): { readonly from: Moment; readonly until: Moment } => ({
  from: calendar.daysAgo(4, 18, 2),
  until: calendar.daysAgo(4, 22, 2),
});

/** Whose relay that is. */
export const lateBorrower: BorrowerKey = "late";

/** Every loan's story, one beside the other. Times are told in days before the demonstration is ready. */
export function tellings(calendar: Calendar): Readonly<Record<BorrowerKey, Telling>> {
  const { daysAgo, readyAt } = calendar;
  const thisMorning = daysAgo(0, 7, 10);
  const far = readyAt + 365 * 24 * hour;
  return {
    steady: { serial: "CU-004201", tells: "nothing happens: what a good record looks like" },
    flat: {
      serial: "CU-004202",
      tells: "the charger is forgotten for most of a week; the battery runs flat and stays so for two days",
      changes: [{ from: daysAgo(18, 12, 0), until: daysAgo(12, 19, 0), charging: { atBedtime: 0 } }],
      charge: 0.7,
    },
    network: {
      serial: "CU-004203",
      tells: "the home's network is down for a day; everything is caught up afterwards",
      outages: [{ what: "network", from: daysAgo(8, 9, 20), until: daysAgo(7, 10, 35) }],
    },
    column: {
      serial: "CU-004204",
      tells: "the column under the right sit bone dies: left leans go on, unseen",
      reliefs: leansLeft,
      habits: { leftOverRight: 1 },
      faults: [{ kind: "column-open", from: daysAgo(9, 16, 40), column: 6 }],
    },
    drift: {
      serial: "CU-004205",
      tells: "the empty reading of the rear creeps up",
      faults: [{ kind: "zero-drift", from: daysAgo(24, 0, 0), countsPerDay: 0.33, upTo: 8 }],
    },
    hospital: {
      serial: "CU-004801",
      tells: "in hospital for five days, cushion switched off at home; noted a day late",
      absences: [
        {
          from: daysAgo(17, 5, 40),
          until: daysAgo(12, 15, 10),
          why: "hospital",
          switchedOffAfterMinutes: 55,
        },
      ],
    },
    habit: {
      serial: "CU-004231",
      tells: "a sore shoulder: left leans stop on a date, the grid is healthy",
      reliefs: leansLeft,
      changes: [
        {
          from: daysAgo(10, 7, 0),
          until: null,
          reliefs: {
            kinds: [
              ["lean-forward", 1],
              ["lean-right", 0.5],
            ],
            fullPerSeatedHour: 0.12,
            answersPrompt: 0.06,
          },
        },
      ],
    },
    charging: {
      serial: "CU-004232",
      tells: "charged for twenty minutes over lunch in the chair, never at night: flat every small hours",
      habits: { charging: { atBedtime: 0, daytime: [[12 * 60 + 30, 12 * 60 + 50]] } },
      charge: 0.5,
    },
    swap: {
      serial: "CU-004206",
      tells: "its unit resets itself over and over and is swapped in mid-loan",
      faults: [{ kind: "reset-loop", from: daysAgo(19, 9, 0), meanHoursBetween: 3 }],
    },
    silent: {
      serial: "CU-004233",
      tells: "silent since this morning: nothing yet says why",
      outages: [
        {
          what: "relay",
          from: readyAt - thisMorning > 3 * hour ? thisMorning : readyAt - 4 * hour,
          until: far,
        },
      ],
    },
    late: {
      serial: "CU-004234",
      tells: "its relay was off since yesterday and comes back while you watch",
      outages: [{ what: "relay", from: daysAgo(1, 15, 5), until: readyAt + lateRelayReturnsAfter }],
    },
    weak: {
      serial: "CU-003801",
      tells: "a thick wall between cushion and relay: a weak link that breaks for hours",
      signal: { mean: -93, deviation: 3.5 },
      outages: [
        { what: "relay", from: daysAgo(6, 23, 10), until: daysAgo(5, 6, 50) },
        { what: "relay", from: daysAgo(3, 12, 40), until: daysAgo(3, 16, 15) },
      ],
    },
    stuck: {
      serial: "CU-003802",
      tells: "one cell reads high whatever presses on it",
      faults: [{ kind: "cell-stuck", from: daysAgo(11, 20, 0), row: 2, column: 1, counts: 142 }],
    },
    tilt: {
      serial: "CU-004802",
      tells: "a tilting chair: the load leaves the seat without a lean",
      habits: { weightKilograms: 104, transfers: { mean: 4, deviation: 1 } },
      reliefs: {
        kinds: [["tilt", 1]],
        depth: { mean: 0.7, deviation: 0.06 },
        holdSeconds: { mean: 165, deviation: 20 },
      },
      plan: { intervalMinutes: 60, holdSeconds: 120, kinds: ["tilt", "lift"] },
    },
    worn: {
      serial: "CU-003803",
      tells: "a failing cell: each charge lasts a little less than the one before",
      faults: [{ kind: "capacity-fade", from: daysAgo(26, 0, 0), sharePerDay: 0.016, downTo: 0.5 }],
      habits: { charging: { atBedtime: 0.4, daytime: [] } },
    },
    recent: {
      serial: "CU-004803",
      tells: "lent ten days ago",
      lentDaysAgo: 10,
      plan: hourly,
    },
    holiday: {
      serial: "CU-003804",
      tells: "a long weekend away with the cushion, out of the relay's reach; all of it arrives on return",
      outages: [{ what: "relay", from: daysAgo(15, 8, 30), until: daysAgo(11, 19, 0) }],
    },
  };
}
