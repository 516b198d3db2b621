import type { Side } from "../../server/domain/verdicts/verdict.ts";

export const sideNames: Readonly<Record<Side, string>> = {
  device: "Device side",
  link: "Link side",
  handling: "Handling",
  person: "Person side",
};

export const sideMeanings: Readonly<Record<Side, string>> = {
  device: "the unit itself: battery, electronics, sensor grid",
  link: "the way from the unit to us: relay, network, programme",
  handling: "how it is charged, kept and placed",
  person: "something of the person's own: away, unwell, a change of habit",
};

/** What a button that leads to the next step says. */
export const nextStepWords: Readonly<Record<string, string>> = {
  "await-backlog": "Read, then wait",
  "ask-for-frame": "Ask for a fresh picture",
  ring: "Ring and ask",
  bench: "Have it benched",
  visit: "Ask for a visit",
  "lean-test": "Ask for a lean test",
};
