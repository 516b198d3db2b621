import type {
  RecordedGreeting,
  RecordedPowerEvent,
  RelayHeartbeat,
  ToldEvents,
} from "../../server/domain/record/told-events.ts";
import type { ZoneName } from "../../server/domain/time/local-day.ts";
import type { Instant } from "../../server/domain/units.ts";
import { counted } from "../layout/counted.ts";
import { dateTimeWords } from "../layout/words.ts";

/** One thing the unit told, as a sentence. */
export interface ToldLine {
  readonly at: Instant;
  readonly sentence: string;
}

/** What a unit told of itself, newest first. What it says every hour or every day stands here only where it changed:
 *  a list of heartbeats would hide the one that matters. How a person answered prompts is not for this desk. */
export function toldLines(told: ToldEvents, zone: ZoneName): ToldLine[] {
  return [
    ...powerLines(told),
    ...selfTestLines(told),
    ...told.storeOverruns.map(({ at, messages, lost }) => ({
      at,
      sentence: `Its own store ran over: ${counted(messages, "message")} of boot ${lost.boot} (${lost.fromSequence} to ${lost.toSequence}) gone for good. It was recording all the time.`,
    })),
    ...told.greetings.map(greetingLine),
    ...relayLines(told.relayHeartbeats),
    ...told.notices.map(({ at, due }) => ({
      at,
      sentence: `Its certificate ends ${dateTimeWords(due, zone)}, and was not renewed by then.`,
    })),
    ...told.renewals.map(({ at }) => ({ at, sentence: "It asked for a new certificate." })),
  ].sort((a, b) => b.at - a.at);
}

const volts = (cell: number): string => `${(cell / 1_000).toFixed(2)} V`;
const degrees = (cell: number): string => `${Math.round(cell)} °C`;

const powerLines = ({ powerEvents }: ToldEvents): ToldLine[] =>
  powerEvents.flatMap((told) => {
    const sentence = powerSentence(told);
    return sentence === null ? [] : [{ at: told.at, sentence }];
  });

function powerSentence({ event, cell, temperature, ended }: RecordedPowerEvent): string | null {
  switch (event) {
    case "charge-start":
      return `Charging began, the cell at ${volts(cell)} and ${degrees(temperature)}.`;
    case "charge-end":
      return ended === "full"
        ? "Charging ended: the cell is full."
        : `Charging stopped before the cell was full, at ${volts(cell)}.`;
    case "cut-off":
      return `The cell is empty by its own account, at ${volts(cell)}: it switched itself off.`;
    case "charge-too-hot":
      return `Charging waits: the cell is too hot, at ${degrees(temperature)}.`;
    case "charge-too-cold":
      return `Charging waits: the cell is too cold, at ${degrees(temperature)}.`;
    case "voltage-step":
      return null;
  }
}

/** Failures, and the first pass after one. */
const selfTestLines = ({ selfTests }: ToldEvents): ToldLine[] =>
  selfTests.flatMap(({ at, passed, cellsFailed, failedRows, failedColumns }, place) => {
    if (passed)
      return selfTests[place - 1]?.passed === false
        ? [{ at, sentence: "Its own test of the grid passed again." }]
        : [];
    const parts = [
      ...failedRows.map((row) => `row ${row + 1}`),
      ...failedColumns.map((column) => `column ${column + 1}`),
      ...(cellsFailed > 0 ? [counted(cellsFailed, "cell")] : []),
    ];
    const where = parts.length === 0 ? "" : `: ${parts.join(", ")}`;
    return [{ at, sentence: `Its own test of the grid failed${where}.` }];
  });

const resetWords = {
  "power-on": "switched on",
  "brown-out": "its voltage had broken down",
  watchdog: "it had hung",
  software: "it restarted itself",
  "user-off": "it had been switched off",
  unknown: "it doesn’t know why",
} as const satisfies Record<RecordedGreeting["reset"], string>;

function greetingLine({
  at,
  boot,
  sequence,
  reset,
  firmware,
  queued,
  oldestUnsent,
}: RecordedGreeting): ToldLine {
  const from =
    oldestUnsent && oldestUnsent.boot !== boot ? `, the oldest from boot ${oldestUnsent.boot}` : "";
  const waiting = queued === 0 ? "" : ` ${counted(queued, "message")} waited in its store${from}.`;
  const first = sequence === 0;
  const what = first
    ? `It started (boot ${boot}): ${resetWords[reset]}. Firmware ${firmware}.`
    : "It was in touch again.";
  return { at, sentence: `${what}${waiting}` };
}

function relayLines(heartbeats: readonly RelayHeartbeat[]): ToldLine[] {
  return heartbeats.flatMap(({ at, relay, link, relayStartedAt }, place) => {
    const before = heartbeats[place - 1];
    if (before === undefined || before.relay !== relay)
      return [
        {
          at,
          sentence: `It reports through relay ${relay}${link === "down" ? ", which has no link to us" : ""}.`,
        },
      ];
    if (before.link !== link && link === "down")
      return [
        { at, sentence: `Relay ${relay} said that it has lost its link to us. The unit itself is well.` },
      ];
    if (before.link === "down" && link === "up")
      return [{ at, sentence: `Relay ${relay} has its link to us again.` }];
    // Told to the second and rounded twice: a minute apart is the same start.
    const startedAnew =
      relayStartedAt !== null &&
      before.relayStartedAt !== null &&
      relayStartedAt > before.relayStartedAt + 60_000;
    return startedAnew ? [{ at, sentence: `Relay ${relay} had been off or restarted.` }] : [];
  });
}
