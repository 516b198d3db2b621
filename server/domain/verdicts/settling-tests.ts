import type { SettlingTest } from "./verdict.ts";

/** A candidate test: its outcomes with P(outcome | cause) as relative weights, columns in catalogue order.
 *  Origin of all weights and efforts: assumption, to be replaced by what tests turned out to tell. */
export interface CandidateTest {
  readonly test: string;
  readonly sentence: string;
  readonly desk: SettlingTest["desk"];
  readonly effortMinutes: number;
  /** When it makes sense: only while the gap goes on, only after it, or always. */
  readonly when: "ongoing" | "ended" | "always";
  readonly outcomes: Readonly<Record<string, readonly number[]>>;
}

export const gapTests: readonly CandidateTest[] = [
  {
    test: "await-backlog",
    sentence: "Wait a day: if the unit was recording all along, what it kept will arrive by itself.",
    desk: "clinic",
    effortMinutes: 2,
    when: "ongoing",
    outcomes: {
      //              worn  charger elec unchar off reach home  area  prog  cert  away  chose
      arrives: [0.01, 0.01, 0.02, 0.01, 0.02, 0.6, 0.55, 0.75, 0.85, 0.05, 0.03, 0.01],
      "fresh record": [0.4, 0.4, 0.25, 0.5, 0.45, 0.2, 0.15, 0.15, 0.1, 0.01, 0.12, 0.1],
      "still quiet": [0.59, 0.59, 0.73, 0.49, 0.53, 0.2, 0.3, 0.1, 0.05, 0.94, 0.85, 0.89],
    },
  },
  {
    test: "ask-for-frame",
    sentence:
      "Ask the unit for a fresh picture of its grid: an answer shows that it is powered and in reach.",
    desk: "bench",
    effortMinutes: 4,
    when: "ongoing",
    outcomes: {
      answers: [0.1, 0.1, 0.1, 0.12, 0.05, 0.2, 0.05, 0.05, 0.1, 0.01, 0.05, 0.03],
      silent: [0.9, 0.9, 0.9, 0.88, 0.95, 0.8, 0.95, 0.95, 0.9, 0.99, 0.95, 0.97],
    },
  },
  {
    test: "ring",
    sentence: "Ring and ask one question: was anything different that day?",
    desk: "clinic",
    effortMinutes: 10,
    when: "always",
    outcomes: {
      "away or not using it": [0.03, 0.03, 0.03, 0.05, 0.15, 0.08, 0.03, 0.03, 0.03, 0.03, 0.72, 0.7],
      "put away or off": [0.03, 0.03, 0.04, 0.05, 0.5, 0.1, 0.03, 0.03, 0.03, 0.03, 0.06, 0.08],
      "charger or flat": [0.4, 0.5, 0.12, 0.5, 0.03, 0.02, 0.02, 0.02, 0.02, 0.02, 0.03, 0.01],
      "internet or hub": [0.02, 0.02, 0.04, 0.02, 0.02, 0.15, 0.5, 0.5, 0.05, 0.05, 0.01, 0.01],
      "nothing different": [0.32, 0.22, 0.57, 0.18, 0.1, 0.45, 0.22, 0.22, 0.67, 0.67, 0.03, 0.05],
      "no answer": [0.2, 0.2, 0.2, 0.2, 0.2, 0.2, 0.2, 0.2, 0.2, 0.2, 0.15, 0.15],
    },
  },
  {
    test: "bench",
    sentence:
      "Bring the unit in, with another in its place, and measure its battery and electronics on the bench.",
    desk: "bench",
    effortMinutes: 60,
    when: "always",
    outcomes: {
      "battery worn": [0.93, 0.08, 0.04, 0.06, 0.05, 0.05, 0.05, 0.05, 0.05, 0.05, 0.05, 0.05],
      "electronics faulty": [0.02, 0.08, 0.7, 0.02, 0.02, 0.03, 0.02, 0.02, 0.02, 0.02, 0.02, 0.02],
      sound: [0.05, 0.84, 0.26, 0.92, 0.93, 0.92, 0.93, 0.93, 0.93, 0.93, 0.93, 0.93],
    },
  },
  {
    test: "visit",
    sentence:
      "Visit: look at the charger and its socket, where the relay stands, and where the unit is kept.",
    desk: "stores",
    effortMinutes: 90,
    when: "always",
    outcomes: {
      "charging trouble": [0.35, 0.8, 0.08, 0.45, 0.03, 0.03, 0.03, 0.03, 0.03, 0.03, 0.05, 0.03],
      "relay trouble": [0.03, 0.03, 0.04, 0.03, 0.03, 0.5, 0.6, 0.1, 0.03, 0.03, 0.02, 0.02],
      "put away": [0.02, 0.02, 0.02, 0.04, 0.5, 0.05, 0.02, 0.02, 0.02, 0.02, 0.2, 0.35],
      "nothing to see": [0.55, 0.1, 0.81, 0.43, 0.39, 0.37, 0.3, 0.8, 0.87, 0.87, 0.18, 0.55],
      "nobody in": [0.05, 0.05, 0.05, 0.05, 0.05, 0.05, 0.05, 0.05, 0.05, 0.05, 0.55, 0.05],
    },
  },
];

export const thinTests: readonly CandidateTest[] = [
  {
    test: "ask-for-frame",
    sentence: "Ask the unit for a fresh picture of its grid, once empty and once loaded.",
    desk: "bench",
    effortMinutes: 4,
    when: "always",
    outcomes: {
      //                 ordin  fewer  prompt line   drift  unseen one    insert other  rules
      "a dead line": [0.02, 0.02, 0.02, 0.9, 0.05, 0.03, 0.02, 0.03, 0.03, 0.03],
      "a raised baseline": [0.03, 0.03, 0.03, 0.02, 0.75, 0.03, 0.03, 0.03, 0.03, 0.03],
      "a turned map": [0.02, 0.02, 0.02, 0.02, 0.02, 0.02, 0.02, 0.6, 0.2, 0.02],
      sound: [0.93, 0.93, 0.93, 0.06, 0.18, 0.92, 0.93, 0.34, 0.74, 0.92],
    },
  },
  {
    test: "ring",
    sentence: "Ring and ask one question: has anything about sitting or moving felt different lately?",
    desk: "clinic",
    effortMinutes: 10,
    when: "always",
    outcomes: {
      "pain, tired or unwell": [0.05, 0.45, 0.15, 0.04, 0.04, 0.06, 0.05, 0.04, 0.04, 0.04],
      "another way of doing it": [0.04, 0.06, 0.04, 0.05, 0.05, 0.6, 0.04, 0.05, 0.05, 0.1],
      "cushion or chair moved": [0.02, 0.02, 0.02, 0.04, 0.03, 0.03, 0.02, 0.5, 0.4, 0.03],
      "busy, or just a long sit": [0.5, 0.15, 0.3, 0.08, 0.08, 0.06, 0.3, 0.06, 0.16, 0.13],
      "nothing different": [0.24, 0.17, 0.34, 0.64, 0.65, 0.1, 0.24, 0.2, 0.2, 0.55],
      "no answer": [0.15, 0.15, 0.15, 0.15, 0.15, 0.15, 0.15, 0.15, 0.15, 0.15],
    },
  },
  {
    test: "lean-test",
    sentence: "On the next visit, watch one lean to each side and see whether the unit records it.",
    desk: "stores",
    effortMinutes: 60,
    when: "always",
    outcomes: {
      "all seen": [0.92, 0.92, 0.92, 0.04, 0.25, 0.55, 0.92, 0.2, 0.75, 0.85],
      "one missing": [0.06, 0.06, 0.06, 0.9, 0.35, 0.4, 0.06, 0.25, 0.1, 0.1],
      "sides swapped": [0.02, 0.02, 0.02, 0.06, 0.4, 0.05, 0.02, 0.55, 0.15, 0.05],
    },
  },
  {
    test: "bench",
    sentence: "Bring the unit in, with another in its place, and sweep its grid line by line on the bench.",
    desk: "bench",
    effortMinutes: 60,
    when: "always",
    outcomes: {
      "grid fault": [0.02, 0.02, 0.02, 0.97, 0.3, 0.03, 0.02, 0.03, 0.03, 0.03],
      drift: [0.02, 0.02, 0.02, 0.02, 0.65, 0.02, 0.02, 0.02, 0.02, 0.02],
      sound: [0.96, 0.96, 0.96, 0.01, 0.05, 0.95, 0.96, 0.95, 0.95, 0.95],
    },
  },
];
