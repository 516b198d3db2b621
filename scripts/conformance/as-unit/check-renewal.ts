import { createPublicKey, X509Certificate } from "node:crypto";
import type { Certificate } from "../../../firmware-protocol/src/downlink.ts";
import { encodeUplink } from "../../../firmware-protocol/src/encode.ts";
import { uplinkTopic } from "../../../firmware-protocol/src/topics.ts";
import { type RequestFor, requestFor, withBrokenSignature } from "../keys.ts";
import { keptOut, patience } from "./dial.ts";
import type { FromServer } from "./downlink.ts";
import type { Identity } from "./identity.ts";
import type { Run } from "./run.ts";
import type { Session } from "./session.ts";

/** Long enough for an answer that must not come. */
const silence = 2_000;

/** Ends the certificate that the run began with, and leaves it one that goes with the run. */
export async function checkRenewal(run: Run): Promise<void> {
  const { findings, words, identity: old } = run;
  const session = await run.connect();
  await checkRefused(run, session);
  const request = await requestFor(words.unit);
  const first = await renew(run, session, request.der, patience);
  if (first === null) {
    findings.broken("FP-12.3", "a good request got no certificate in 10 s");
    session.link.cut();
    return;
  }
  const leaf = checkCertificate(run, first, request);
  const second = await renew(run, session, request.der, patience);
  const same = second !== null && Buffer.from(second.chain[0] ?? []).equals(leaf.raw);
  findings.check(
    "FP-12.4",
    same,
    "the same request got the same certificate again",
    "the same request got another certificate, or none",
  );
  session.link.cut();
  await checkOverlap(run, old, {
    ...old,
    key: request.key,
    certificateChain: leaf.toString() + (old.authority ?? ""),
  });
}

async function checkRefused(run: Run, session: Session): Promise<void> {
  const { findings, words } = run;
  const tries = [
    ["whose signature is not its key's", withBrokenSignature(await requestFor(words.unit))],
    ["for another serial", (await requestFor("CU-NOT-MINE")).der],
    ["that is no PKCS#10", Uint8Array.of(0x30, 0x00)],
  ] as const;
  for (const [what, request] of tries) {
    const answer = await renew(run, session, request, silence);
    findings.check(
      "FP-12.3",
      answer === null,
      `a request ${what} got no certificate`,
      `a request ${what} got a certificate`,
    );
  }
}

function checkCertificate(
  { findings, words }: Run,
  answer: Certificate,
  request: RequestFor,
): X509Certificate {
  const leaf = new X509Certificate(answer.chain[0] ?? new Uint8Array());
  const spki = { type: "spki", format: "der" } as const;
  const isOurs = leaf.publicKey.export(spki).equals(createPublicKey(request.key).export(spki));
  findings.check(
    "FP-12.3",
    isOurs && leaf.subject === `CN=${words.unit}`,
    "a good one got a certificate for its key and this serial",
    `the certificate is for ${leaf.subject}${isOurs ? "" : " and another key"}`,
  );
  return leaf;
}

async function checkOverlap(run: Run, old: Identity, renewed: Identity): Promise<void> {
  const { findings } = run;
  const oldStill = await keptOut(old, {});
  findings.check(
    "FP-12.6",
    oldStill === null,
    "the old certificate let the unit in until the new one was used",
    `the old certificate was refused before the new one was used: ${oldStill}`,
  );
  const stillSent = await run.connect();
  const again = await stillSent.next(isCertificate(null), silence);
  findings.check(
    "FP-12.4",
    again !== null,
    "it came again on subscribing until it was used",
    "it did not come again on subscribing",
  );
  stillSent.link.cut();
  run.identity = renewed;
  const first = await run.connect();
  const hello = run.words.hello();
  run.book.published(hello.sequence);
  await first.publish(uplinkTopic(run.words.unit, "hello"), encodeUplink(hello));
  const receipted = await first.receipted(hello.sequence);
  findings.check(
    "FP-12.6",
    receipted,
    "the new one was accepted, and a receipt came over it",
    "no receipt came over a connection with the new certificate",
  );
  const oldAfter = await keptOut(old, {});
  findings.check(
    "FP-12.6",
    oldAfter !== null,
    `then the old one was refused: ${oldAfter}`,
    "the old one still let the unit in after the new one had been used",
  );
  first.link.cut();
}

const isCertificate =
  (sequence: number | null) =>
  (message: FromServer): message is Certificate =>
    message.kind === "certificate" && (sequence === null || message.renewal.sequence === sequence);

async function renew(
  run: Run,
  session: Session,
  request: Uint8Array,
  milliseconds: number,
): Promise<Certificate | null> {
  const renewal = run.words.renewal(request);
  run.book.published(renewal.sequence);
  await session.publish(uplinkTopic(run.words.unit, "renewal"), encodeUplink(renewal));
  return session.next(isCertificate(renewal.sequence), milliseconds);
}
