import { encodeUplink } from "../../../firmware-protocol/src/encode.ts";
import { maximumUplinkBytes } from "../../../firmware-protocol/src/limits.ts";
import { topicRoot, uplinkTopic } from "../../../firmware-protocol/src/topics.ts";
import { acceptedVectors, rejectedVectors } from "../clauses.ts";
import type { Run } from "./run.ts";
import type { Session } from "./session.ts";
import { alteredHello } from "./words.ts";

export async function checkMessages(run: Run): Promise<void> {
  const session = await run.connect();
  await checkNewerMinor(run, session);
  await checkUnreadable(run, session);
  await checkForeign(run, session);
  session.link.cut();
  await checkHostile(run);
  await checkOversized(run);
}

/** What a newer unit may add (section 13), and a message of which only the name can be read (FP-6.10). */
async function checkNewerMinor(run: Run, session: Session): Promise<void> {
  const { findings, words, book } = run;
  const up = `${topicRoot(words.unit)}/up`;
  const anEntryOfKey64 = Uint8Array.of(0x18, 0x40, 0x01);
  const tries = [
    ["FP-13.3", "a message of number 40", "hello", { code: 0x17 }],
    ["FP-13.4", "a message on a topic of an unknown kind", "seat-song", { code: 0x16 }],
    ["FP-4.10", "a message of version 2", "hello", { version: 2 }],
    ["FP-13.1", "a message with an entry of key 64", "hello", { added: anEntryOfKey64 }],
  ] as const;
  for (const [clause, what, kind, change] of tries) {
    const hello = words.hello();
    book.published(hello.sequence);
    const acknowledged = await session.publish(`${up}/${kind}`, alteredHello(hello, change));
    const receipted = acknowledged && (await session.receipted(hello.sequence));
    const went = session.link.isClosed ? "ended the connection" : "was not receipted in 10 s";
    findings.check(clause, receipted, `${what} was acknowledged and receipted`, `${what} ${went}`);
    if (receipted) findings.holds("FP-6.10", `${what} can be named, and its receipt came`);
    else findings.broken("FP-6.10", `${what} can be named, but ${went}`);
  }
}

/** Nobody can tell which message it is: it must be answered, and its sequence must stay a hole. */
async function checkUnreadable(run: Run, session: Session): Promise<void> {
  const { findings, words, book } = run;
  const hole = words.take();
  book.publishedUnreadable(hole);
  const topic = uplinkTopic(words.unit, "minutes");
  const acknowledged = await session.publish(topic, Buffer.from("no CBOR at all"));
  const after = words.hello();
  book.published(after.sequence);
  await session.publish(uplinkTopic(words.unit, "hello"), encodeUplink(after));
  const wentOn = await session.receipted(after.sequence);
  findings.check(
    "FP-4.11",
    acknowledged && wentOn,
    "bytes that are no message were acknowledged, and the next message was receipted",
    `after bytes that are no message ${acknowledged ? "the next one was not receipted" : "no PUBACK came"}`,
  );
  if (wentOn)
    findings.check(
      "FP-6.10",
      !book.covers(hole),
      "the place of what can't be named stays a hole",
      `a receipt covers sequence ${hole}, which came as bytes that name nothing`,
    );
}

/** A message that names another unit, and one on the topic of another kind. */
async function checkForeign(run: Run, session: Session): Promise<void> {
  const { findings, words, book } = run;
  const foreign = { ...words.hello(0), unit: "CU-NOT-MINE" };
  await session.publish(uplinkTopic(words.unit, "hello"), encodeUplink(foreign));
  const misplaced = words.hello();
  book.published(misplaced.sequence);
  await session.publish(uplinkTopic(words.unit, "minutes"), encodeUplink(misplaced));
  const again = await session.receipted(misplaced.sequence);
  findings.check(
    "FP-2.1",
    again,
    "a message of another unit and one on another kind's topic harmed nothing after them; what was taken as data only the server's pages show",
    "a message on another kind's topic, which can be named, was not receipted",
  );
}

/** Every vector, the good and the bad, as bytes from somebody who means harm. */
async function checkHostile(run: Run): Promise<void> {
  const { findings, words, book } = run;
  const session = await run.connect();
  const vectors = [...rejectedVectors(), ...acceptedVectors()].filter(({ direction }) => direction === "up");
  const topic = uplinkTopic(words.unit, "hello");
  let acknowledged = 0;
  const small = vectors
    .map(({ hex }) => Buffer.from(hex, "hex"))
    .filter(({ length }) => length <= maximumUplinkBytes);
  for (const bytes of small) if (await session.publish(topic, bytes)) acknowledged += 1;
  const claimsMuch = Uint8Array.of(0x5b, 0, 0, 0, 0xff, 0xff, 0xff, 0xff, 0xff);
  await session.publish(topic, claimsMuch);
  const after = words.hello();
  book.published(after.sequence);
  await session.publish(topic, encodeUplink(after));
  const wentOn = await session.receipted(after.sequence);
  const told = `${acknowledged} of ${small.length} vectors acknowledged`;
  findings.check(
    "FP-9.3",
    acknowledged === small.length && wentOn,
    `${told}, and the next message receipted`,
    `${told}; the next message was ${wentOn ? "" : "not "}receipted`,
  );
  findings.check(
    "FP-3.11",
    wentOn,
    "a length of 2^40 bytes in 9 bytes harmed nothing",
    "after a length of 2^40 bytes in 9 bytes nothing was receipted",
  );
  session.link.cut();
}

async function checkOversized(run: Run): Promise<void> {
  const { findings, words, book } = run;
  for (const size of [maximumUplinkBytes + 1, 300_000]) {
    const session = await run.connect();
    const acknowledged = await session.publish(uplinkTopic(words.unit, "frame"), Buffer.alloc(size, 0x41));
    session.link.cut();
    const next = await run.connect();
    const after = words.hello();
    book.published(after.sequence);
    await next.publish(uplinkTopic(words.unit, "hello"), encodeUplink(after));
    const wentOn = await next.receipted(after.sequence);
    next.link.cut();
    const how = acknowledged ? "acknowledged" : "cut off";
    findings.check(
      "FP-3.2",
      wentOn,
      `${size} bytes were ${how}, and the unit was served after it`,
      `after ${size} bytes, ${how}, the next message was not receipted`,
    );
  }
}
