import type { UplinkMessage } from "../../../firmware-protocol/src/messages.ts";
import { kindsByClause } from "../clauses.ts";
import type { Stage } from "./stage.ts";

/** Clauses that the strict reader has checked in every message. */
const ofEveryMessage = ["3.1", "3.2", "3.3", "3.4", "3.5", "3.6", "3.7", "3.8", "3.9", "3.10"]
  .concat("4.1", "4.2", "4.3", "4.4", "4.5", "4.6", "4.7", "4.8", "4.9", "4.12", "2.1", "2.5")
  .map((number) => `FP-${number}`);
/** The newest message may be a while old. */
const clockToleranceSeconds = 15 * 60;

/** What all messages together say. Everything that was broken has been noted when it came. */
export function sumUp(stage: Stage): void {
  const { findings, heard } = stage;
  const messages = [...heard.messages.values()];
  const counts = new Map<string, number>();
  for (const { kind } of messages) counts.set(kind, (counts.get(kind) ?? 0) + 1);
  for (const clause of ofEveryMessage) findings.holds(clause, `in each of ${messages.length} messages`);
  for (const [clause, kinds] of kindsByClause("up")) {
    const seen = [...kinds].filter((kind) => counts.has(kind)).map((kind) => `${counts.get(kind)} ${kind}`);
    if (seen.length > 0 && clause.startsWith("FP-5.")) findings.holds(clause, `in ${seen.join(", ")}`);
  }
  checkOrder(stage, messages);
  if (heard.resends > 0) findings.holds("FP-4.5", `${heard.resends} resends had the same bytes each time`);
}

function checkOrder({ findings }: Stage, messages: readonly UplinkMessage[]): void {
  const ordered = [...messages].sort((a, b) => a.boot - b.boot || a.sequence - b.sequence);
  const firstOfBoot = ordered.filter(({ sequence }) => sequence === 0);
  const notHello = firstOfBoot.find(({ kind }) => kind !== "hello");
  if (notHello !== undefined)
    findings.broken("FP-5.2", `boot ${notHello.boot} began with a ${notHello.kind}, not with a hello`);
  for (const [at, message] of ordered.entries()) {
    const before = ordered[at - 1];
    if (before?.boot !== message.boot) continue;
    if (message.uptimeSeconds < before.uptimeSeconds)
      findings.broken(
        "FP-4.6",
        `the uptime went back from ${before.uptimeSeconds} to ${message.uptimeSeconds} in boot ${message.boot}`,
      );
  }
}

/** Whether the unit sets its clock by a receipt. Call it after receipts have been given for a while. */
export function checkClock({ findings, heard, options }: Stage): void {
  const newest = [...heard.messages.values()]
    .sort((a, b) => a.boot - b.boot || a.sequence - b.sequence)
    .at(-1);
  const wall = newest?.wallSeconds ?? null;
  const apart = wall === null ? null : Math.abs(wall - options.now() / 1_000);
  findings.advised(
    "FP-6.2",
    apart !== null && apart <= clockToleranceSeconds,
    "after a receipt its clock was the server's",
    apart === null
      ? "its clock was not set after a receipt"
      : `after a receipt its clock was ${Math.round(apart)} s from the server's`,
  );
}
