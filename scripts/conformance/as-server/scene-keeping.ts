import { badReceipts } from "./bad-receipts.ts";
import type { Name } from "./heard.ts";
import type { Stage } from "./stage.ts";
import type { Visit } from "./visit.ts";

/** What the unit keeps until it may forget it (FP-6.5), and what it sends again (FP-6.7).
 *  @returns the connection that is open afterwards */
export async function sceneOfKeeping(stage: Stage, first: Visit): Promise<Visit> {
  const { findings } = stage;
  const sent = await stage.listen(first);
  if (sent.size === 0) throw new Error("The unit sent nothing.");
  const second = await comeAgain(stage, first);
  const missing = await stage.missing(second, sent);
  findings.check(
    "FP-6.5",
    missing.length === 0,
    `${sent.size} messages with a PUBACK and no receipt came again over the next connection`,
    `a PUBACK alone let it forget ${list(missing)}`,
  );
  findings.check(
    "FP-6.7",
    missing.length === 0,
    "what no receipt covers came again, byte for byte",
    `not sent again after a new connection: ${list(missing)}`,
  );
  const third = await keepsOnBadReceipts(stage, second, sent);
  return keepsHole(stage, third);
}

/** Receipts that cover everything and break one clause each. All at once: where none made it forget, each was refused. */
async function keepsOnBadReceipts(stage: Stage, visit: Visit, sent: ReadonlySet<Name>): Promise<Visit> {
  const { findings, heard, options } = stage;
  const bad = badReceipts(heard.stored(), Math.floor(options.now() / 1_000));
  for (const { bytes } of bad) visit.sayBytes("receipt", bytes);
  const stayed = !(await visit.endsWithin(stage.quiet(1_000)));
  findings.advised(
    "FP-7.9",
    stayed,
    "messages that can't be read did not make it close the connection",
    "it closed the connection for a message it can't read",
  );
  const next = stayed ? await comeAgain(stage, visit) : await readyVisit(stage);
  const missing = await stage.missing(next, sent);
  for (const { clause, what } of bad)
    findings.check(
      clause,
      missing.length === 0,
      `it did not go by a receipt ${what}`,
      `it forgot ${list(missing)} on one of the receipts that break a clause, such as one ${what}`,
    );
  return next;
}

/** A receipt for everything but one message. */
async function keepsHole(stage: Stage, visit: Visit): Promise<Visit> {
  const { findings, heard } = stage;
  const hole = [...heard.messages].find(
    ([, { sequence, boot }]) => sequence > 0 && boot === newestBoot(stage),
  )?.[0];
  if (hole === undefined) {
    findings.notTried("FP-6.5", "the unit sent one message only: no hole could be made");
    return visit;
  }
  stage.receipt(visit, new Set([hole]));
  const next = await comeAgain(stage, visit);
  const kept = (await stage.missing(next, new Set([hole]))).length === 0;
  findings.check(
    "FP-6.5",
    kept,
    "what lay in a hole of a receipt was kept, and came again",
    `boot and sequence ${hole} lay in a hole of the receipt and did not come again`,
  );
  return next;
}

const newestBoot = ({ heard }: Stage): number =>
  Math.max(...[...heard.messages.values()].map(({ boot }) => boot));

export async function readyVisit(stage: Stage): Promise<Visit> {
  const visit = await stage.visit();
  visit.acknowledge();
  return visit;
}

export async function comeAgain(stage: Stage, visit: Visit): Promise<Visit> {
  visit.cut();
  return readyVisit(stage);
}

const list = (names: readonly Name[]): string =>
  `${names.length} messages (boot and sequence ${names.slice(0, 5).join(", ")}${names.length > 5 ? ", ..." : ""})`;
