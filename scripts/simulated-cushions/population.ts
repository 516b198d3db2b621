import type { Habits, Outing, Person } from "./person.ts";
import { type Random, randomFrom } from "./random.ts";

/** Draws a full-time wheelchair user whose days are like those published: 10.6 ± 3.0 h seated, 8.4 ± 4.3 transfers,
 *  0.4 ± 0.5 full reliefs and 2.4 ± 2.2 weight shifts each seated hour.
 *  Source: Sonenblum, Sprigle, Martin 2016, J Rehabil Res Dev 53:585. Body weight, rest asymmetry and clock times are
 *  our own choice. A transfer is taken to be one leaving of the seat with its return. */
export function drawPerson(seed: string): Person {
  const random = randomFrom(`${seed}/person`);
  return { habits: drawHabits(random), changes: [], absences: [] };
}

function drawHabits(random: Random): Habits {
  return {
    weightKilograms: clamp(random.normal(74, 12), 48, 105),
    leftOverRight: clamp(random.normal(1, 0.12), 0.7, 1.35),
    upMinute: Math.round(random.normal(7 * 60 + 20, 25)),
    bedMinute: Math.round(random.normal(22 * 60 + 40, 25)),
    weekendLieInMinutes: Math.round(random.uniform(0, 60)),
    // Between people and, in the plan of a day, from day to day: together the published spread.
    seatedHours: { mean: clamp(random.normal(10.6, 2.5), 5, 14), deviation: 1.4 },
    transfers: { mean: clamp(random.normal(8.4, 3.4), 3, 16), deviation: 2.2 },
    outings: drawOutings(random),
    charging: { atBedtime: 0.8, daytime: [] },
    reliefs: {
      // Both published figures are skewed (their deviation is as large as their mean): exponential fits that.
      fullPerSeatedHour: 0.4 * Math.min(4, random.exponential()),
      shiftsPerSeatedHour: 2.4 * Math.min(3, random.exponential()),
      answersPrompt: 0.5,
      kinds: [
        ["lean-left", 3],
        ["lean-right", 3],
        ["lean-forward", 2],
        ["lift", 1],
      ],
      holdSeconds: { mean: 90, deviation: 25 },
      depth: { mean: 0.66, deviation: 0.07 },
    },
  };
}

/** Up to three a week, each person's at their own times: people who all went out together would look like an outage. */
function drawOutings(random: Random): Outing[] {
  return Array.from({ length: Math.floor(random.next() * 4) }, () => {
    const fromMinute = Math.round(random.uniform(9.5 * 60, 16 * 60));
    return {
      weekday: 1 + Math.floor(random.next() * 7),
      fromMinute,
      untilMinute: fromMinute + Math.round(random.uniform(50, 190)),
    };
  });
}

const clamp = (value: number, low: number, high: number): number => Math.min(high, Math.max(low, value));
