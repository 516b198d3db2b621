import { hour, type Moment } from "../simulated-cushions/wall-clock.ts";
import type { BenchStory } from "./bench-story.ts";
import type { Calendar } from "./calendar.ts";
import type { ProgrammeAct } from "./commands.ts";
import { lots } from "./invented-cast.ts";
import { programmeOutage } from "./stories.ts";
import type { Story } from "./story.ts";

/** Something that happens at the programme's office at a moment. */
export type DiaryEntry =
  | { readonly at: Moment; readonly what: "act"; readonly act: ProgrammeAct }
  | { readonly at: Moment; readonly what: "lend"; readonly story: Story }
  | {
      readonly at: Moment;
      readonly what: "swap";
      readonly story: Story;
      readonly replacement: string;
      readonly reason: string;
    }
  | { readonly at: Moment; readonly what: "bench"; readonly session: BenchStory }
  | { readonly at: Moment; readonly what: "office-goes-dark" | "office-is-back" };

/** The whole programme's diary, oldest first. What would lie before the first day is left out, with whatever hangs on it. */
export function diaryOf(calendar: Calendar, stories: readonly Story[]): readonly DiaryEntry[] {
  const lent = new Map(stories.map((story) => [story.borrower, story]));
  const entries: DiaryEntry[] = [
    { at: calendar.startsAt, what: "act", act: { kind: "set-up" } },
    ...stories.map((story): DiaryEntry => ({ at: story.lentAt, what: "lend", story })),
    ...outage(calendar),
    ...notes(calendar),
    ...recall(calendar, lent.get("worn")),
    ...swap(calendar, lent.get("swap")),
    ...visits(calendar),
    ...benchSessions(calendar),
  ];
  return entries
    .filter((entry) => entry.at >= calendar.startsAt && entry.at < calendar.readyAt)
    .filter((entry) => isPossible(entry, lent))
    .sort((a, b) => a.at - b.at);
}

/** An act needs its loan to have been opened, in a shorter telling too. */
function isPossible(entry: DiaryEntry, lent: ReadonlyMap<string, Story>): boolean {
  if (entry.what !== "act" || !("borrower" in entry.act)) return true;
  const story = lent.get(entry.act.borrower);
  return story !== undefined && story.lentAt < entry.at;
}

function outage(calendar: Calendar): DiaryEntry[] {
  const { from, until } = programmeOutage(calendar);
  if (from < calendar.startsAt || until > calendar.readyAt) return [];
  return [
    { at: from, what: "office-goes-dark" },
    { at: until, what: "office-is-back" },
  ];
}

function notes({ daysAgo }: Calendar): DiaryEntry[] {
  return [
    {
      at: daysAgo(16, 9, 40),
      what: "act",
      act: {
        kind: "note",
        borrower: "hospital",
        note: "hospital",
        from: daysAgo(17, 5, 30),
        until: daysAgo(12, 15, 0),
        text: "Daughter rang: taken in early yesterday, expected home in five days. She switched the cushion off.",
        by: "maren",
      },
    },
    {
      at: daysAgo(16, 14, 10),
      what: "act",
      act: {
        kind: "note",
        borrower: "holiday",
        note: "holiday",
        from: daysAgo(15, 8, 0),
        until: daysAgo(11, 20, 0),
        text: "Long weekend with his sister at the coast. Takes the cushion, leaves the relay at home.",
        by: "tobias",
      },
    },
  ];
}

function recall(calendar: Calendar, corrected: Story | undefined): DiaryEntry[] {
  const { daysAgo } = calendar;
  if (daysAgo(3, 11, 15) < calendar.startsAt) return [];
  const outcomes: DiaryEntry[] = corrected ? [correctedInPlace(calendar, corrected)] : [];
  return [
    {
      at: daysAgo(3, 11, 15),
      what: "act",
      act: {
        kind: "open-recall",
        lot: lots.small.id,
        title: "Charging port may corrode and run warm",
        advice:
          "Please stop charging it and do not open it. Keep sitting on it until we bring you another: it is still a cushion. If the port is hot, swollen or wet, move it off the seat if that is safe and call us at once.",
      },
    },
    {
      at: daysAgo(3, 15, 30),
      what: "act",
      act: {
        kind: "move",
        serial: "CU-003805",
        from: "in-stock",
        to: "quarantine",
      },
    },
    {
      at: daysAgo(3, 15, 40),
      what: "act",
      act: {
        kind: "recall-outcome",
        serial: "CU-003805",
        outcome: "quarantined",
        evidence: "Bagged and labelled on shelf Q2, seen by Tobias.",
      },
    },
    ...outcomes,
  ];
}

const correctedInPlace = ({ daysAgo }: Calendar, { serial }: Story): DiaryEntry => ({
  at: daysAgo(2, 14, 5),
  what: "act",
  act: {
    kind: "recall-outcome",
    serial,
    outcome: "corrected-in-place",
    evidence: "Port replaced at home, visit sheet 26-114 signed.",
  },
});

function swap({ daysAgo }: Calendar, story: Story | undefined): DiaryEntry[] {
  const at = daysAgo(13, 11, 0);
  if (!story || story.lentAt >= at) return [];
  return [{ at, what: "swap", story, replacement: "CU-004235", reason: "resets itself several times a day" }];
}

function visits({ daysAgo }: Calendar): DiaryEntry[] {
  return [
    {
      at: daysAgo(1, 14, 20),
      what: "act",
      act: {
        kind: "plan-visit",
        borrower: "drift",
        replacement: "CU-004236",
        daysAhead: 1,
        doneBy: "ife",
        reason: "empty reading of the rear has crept up",
      },
    },
  ];
}

/** One new unit passed and went into stock; of another the technician was called away in the middle of the hold, and it
 *  still lies under the rig. */
const benchSessions = ({ daysAgo, readyAt }: Calendar): DiaryEntry[] => [
  {
    at: daysAgo(2, 10, 5),
    what: "bench",
    session: { serial: "CU-004806", faults: [], readings: null },
  },
  {
    // Long enough ago for an hour to have ended since.
    at: readyAt - 1.25 * hour,
    what: "bench",
    session: {
      serial: "CU-004807",
      faults: [{ kind: "column-open", from: 0, column: 8 }],
      readings: 15,
    },
  },
];
