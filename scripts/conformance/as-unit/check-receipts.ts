import type { Plan, Receipt } from "../../../firmware-protocol/src/downlink.ts";
import { encodeUplink } from "../../../firmware-protocol/src/encode.ts";
import { uplinkTopic } from "../../../firmware-protocol/src/topics.ts";
import { patience } from "./dial.ts";
import type { FromServer } from "./downlink.ts";
import type { Run } from "./run.ts";
import type { Session } from "./session.ts";

const isPlan = (message: FromServer): message is Plan | { kind: "no-plan" } =>
  message.kind === "plan" || message.kind === "no-plan";
const isReceipt = (message: FromServer): message is Receipt => message.kind === "receipt";
const soonMilliseconds = 5_000;
/** Two clocks of ordinary computers, and the way between. */
const clockToleranceSeconds = 120;

export async function checkReceipts(run: Run): Promise<void> {
  const session = await run.connect();
  await checkPlan(run, session);
  await checkFirst(run, session);
  await checkHoles(run, session);
  await checkManyHoles(run, session);
  await checkRetained(run, session);
  session.link.cut();
}

async function checkPlan({ findings }: Run, session: Session): Promise<void> {
  const plan = await session.next(isPlan);
  const what = plan?.kind === "plan" ? `plan ${plan.version}` : "the word that none is in force";
  findings.check(
    "FP-2.2",
    plan !== null,
    `${what} came on subscribing`,
    "no plan came on subscribing, nor the word that none is in force",
  );
  if (plan?.kind === "no-plan") findings.holds("FP-7.8", "a payload of no bytes came");
}

/** One hello, and what comes back. */
async function checkFirst(run: Run, session: Session): Promise<void> {
  const { findings, words, book } = run;
  const hello = words.hello();
  const acknowledged = await send(run, session, hello.sequence, encodeUplink(hello));
  findings.check("FP-2.5", acknowledged, "a PUBACK came for QoS 1", "no PUBACK came for a hello");
  const began = Date.now();
  const receipted = await session.receipted(hello.sequence);
  const took = Date.now() - began;
  findings.check(
    "FP-6.6",
    receipted,
    "a receipt followed each message",
    "no receipt came for a hello in 10 s",
  );
  if (receipted)
    findings.advised(
      "FP-6.6",
      took <= soonMilliseconds,
      `the first within ${took} ms of its PUBACK`,
      `only ${took} ms after its PUBACK`,
    );
  await checkResend(run, session, encodeUplink(hello));
  if (book.count === 0) findings.broken("FP-7.1", "no receipt ever came");
}

async function checkResend(run: Run, session: Session, bytes: Uint8Array): Promise<void> {
  const { findings, words, book } = run;
  const before = JSON.stringify(book.latest);
  const topic = uplinkTopic(words.unit, "hello");
  for (const dup of [false, true]) {
    const acknowledged = await session.publish(topic, bytes, { dup });
    findings.check("FP-6.7", acknowledged, "a resend was acknowledged", "a resend was not acknowledged");
  }
  const receipt = await session.next(isReceipt, soonMilliseconds);
  // The runner may have sent the first receipt before; the newest says what is stored.
  const after = JSON.stringify(book.latest);
  findings.check(
    "FP-6.7",
    after === before,
    "and changed nothing in the receipts",
    `a resend changed the receipt from ${before} to ${after}`,
  );
  if (receipt === null) return;
  const apart = Math.abs(receipt.serverUnixSeconds - Date.now() / 1_000);
  findings.check(
    "FP-7.4",
    apart <= clockToleranceSeconds,
    "the server's time agrees with this machine's",
    `the server's time is ${Math.round(apart)} s from this machine's`,
  );
}

/** Sequences that come later, in another order, or never. */
async function checkHoles(run: Run, session: Session): Promise<void> {
  const { findings, words, book } = run;
  const [late, lost, first, last] = [words.take(), words.take(), words.take(), words.take()];
  for (const sequence of [last, first])
    await send(run, session, sequence, encodeUplink(words.hello(sequence)));
  const receipted = await session.receipted(last);
  findings.check(
    "FP-6.8",
    receipted,
    "what came out of order was receipted",
    "what came out of order was not receipted in 10 s",
  );
  if (receipted)
    findings.check(
      "FP-7.3",
      !book.covers(late) && !book.covers(lost),
      `sequences ${late} and ${lost}, never sent, were listed as a hole`,
      `a receipt covers ${late} and ${lost}, which were never sent`,
    );
  await send(run, session, late, encodeUplink(words.hello(late)));
  const filled = await session.receipted(late);
  findings.check(
    "FP-7.3",
    filled,
    "a hole that was filled was listed no more",
    `sequence ${late} stayed a hole after it was sent`,
  );
  const told = words.overrun(lost, lost);
  await session.publish(uplinkTopic(words.unit, "fault"), publishing(run, told.sequence, encodeUplink(told)));
  // What is told to be lost is no hole any more: the book must not take that for a claim to have it.
  book.published(lost);
  const noHole = await session.receipted(lost);
  findings.advised(
    "FP-6.9",
    noHole,
    "what was told to be lost is no hole any more",
    "a range told to be lost is still listed as a hole",
  );
}

/** More holes than a receipt may list. */
async function checkManyHoles(run: Run, session: Session): Promise<void> {
  const { findings, words, book } = run;
  const holes: number[] = [];
  let last = 0;
  for (let pair = 0; pair < 40; pair++) {
    holes.push(words.take());
    last = words.take();
    await send(run, session, last, encodeUplink(words.hello(last)));
  }
  await session.receipted(last, soonMilliseconds);
  const claimed = holes.filter((hole) => book.covers(hole));
  findings.check(
    "FP-7.3",
    claimed.length === 0,
    "with 40 holes none was claimed to be stored",
    `with 40 holes a receipt covers ${claimed.join(", ")}, never sent`,
  );
  for (const hole of holes) await send(run, session, hole, encodeUplink(words.hello(hole)));
  findings.check(
    "FP-7.3",
    await session.receipted(last),
    "and all was covered once they were filled",
    "holes that were filled stayed holes",
  );
}

async function checkRetained(run: Run, session: Session): Promise<void> {
  const { findings, words } = run;
  const hello = words.hello();
  const topic = uplinkTopic(words.unit, "hello");
  const acknowledged = await session.publish(topic, publishing(run, hello.sequence, encodeUplink(hello)), {
    retain: true,
  });
  const receipted = acknowledged && (await session.receipted(hello.sequence, patience));
  findings.check(
    "FP-2.12",
    receipted,
    "a message with the retain flag was taken as any other",
    "a message with the retain flag was not receipted",
  );
}

const publishing = ({ book }: Run, sequence: number, bytes: Uint8Array): Uint8Array => {
  book.published(sequence);
  return bytes;
};
const send = (run: Run, session: Session, sequence: number, bytes: Uint8Array): Promise<boolean> =>
  session.publish(uplinkTopic(run.words.unit, "hello"), publishing(run, sequence, bytes));
