import type { CommandKind, CommandLine, SelfTestFound } from "../../server/domain/commands/command.ts";
import type { ZoneName } from "../../server/domain/time/local-day.ts";
import { dateTimeWords } from "./words.ts";

/** What each button asks. */
export const commandNames: Readonly<Record<CommandKind, string>> = {
  plan: "Take the relief plan in force",
  frame: "Send a fresh picture of its grid",
  "self-test": "Test its own grid",
  identify: "Buzz and light up for 10 seconds",
  report: "Report now",
  "renew-certificate": "Renew its certificate",
  forget: "Forget everything it keeps",
};

const reasons: Readonly<Record<string, string>> = {
  unsupported: "it can’t do that",
  unreadable: "it could not read the command",
  busy: "it was busy with another command",
  "battery-low": "its battery would not last",
  "seat-loaded": "it needs an empty seat, and somebody sat",
  failed: "it tried, and it went wrong",
  "not-a-request": "what it sent is no request for a certificate",
  "key-type": "its key is of a kind not accepted",
  signature: "its request was not signed with its own key",
  name: "its request was made out for another name",
  "no-certificate": "it has no certificate in force",
  "loan-ended": "its loan has ended",
  "key-used-before": "its key had a certificate before",
};

export const reasonWords = (reason: string | null): string =>
  reason === null ? "" : (reasons[reason] ?? reason);

/** Where a command stands, in a sentence without its end. */
export function standingWords(line: CommandLine, zone: ZoneName): string {
  const { state, answer } = line;
  const when = line.answeredAt === null ? "" : ` ${dateTimeWords(line.answeredAt, zone)}`;
  const detail = answer?.detail ? ` (“${answer.detail}”)` : "";
  switch (state) {
    case "waiting":
      return `Waiting for the unit, until ${dateTimeWords(line.expiresAt, zone)}`;
    case "sent":
      return line.sentAt === null ? "Sent" : `Sent ${dateTimeWords(line.sentAt, zone)}, no answer yet`;
    case "accepted":
      return `Under way since${when}${detail}`;
    case "done":
      return `Done${when}${detail}`;
    case "refused":
      return `Refused${when}: ${reasonWords(answer?.reason ?? null)}${detail}`;
    case "expired":
      return expiredWords(line, when);
  }
}

function expiredWords({ answer }: CommandLine, when: string): string {
  if (answer === null || answer.state === "accepted")
    return "Expired without an answer: whether it was done is not known";
  if (answer.state === "expired") return `Not done: it reached the unit too late${when}`;
  return `Expired; the unit said afterwards${when}: ${answer.state}`;
}

export function foundWords(found: SelfTestFound): string {
  const { passed, cellsTested, cellsFailed, failedRows, failedColumns } = found;
  if (passed) return `Passed: ${cellsTested} cells tested.`;
  // People count from one.
  const lines = [
    ...failedRows.map((row) => `row ${row + 1}`),
    ...failedColumns.map((column) => `column ${column + 1}`),
  ];
  const broken = lines.length === 0 ? "" : `; broken: ${lines.join(", ")}`;
  return `Failed: ${cellsFailed} of ${cellsTested} cells${broken}.`;
}
