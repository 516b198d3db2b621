import { createPublicKey, X509Certificate } from "node:crypto";
import {
  type EnrolAnswer,
  type EnrolRequest,
  enrolRefusalReasons,
} from "../../../firmware-protocol/src/enrolment.ts";
import { topicRoot } from "../../../firmware-protocol/src/topics.ts";
import type { Findings } from "../findings.ts";
import { type RequestFor, requestFor } from "../keys.ts";
import type { Identity } from "./identity.ts";

export interface Enrolling {
  /** Where `/enrol` is. */
  readonly server: string;
  readonly unit: string;
  readonly code: string;
}

interface Answer {
  readonly status: number;
  readonly body: unknown;
}

/** Spends the pairing code, after trying what must be refused.
 *  @throws where the code gets no certificate: nothing more can be tried */
export async function checkEnrolment(findings: Findings, enrolling: Enrolling): Promise<Identity> {
  const { unit, code } = enrolling;
  const request = await requestFor(unit);
  const good = { code, unit, certificateRequest: request.pem };
  await checkRefusals(findings, enrolling, request);
  const answer = await post(enrolling.server, good);
  if (answer.status !== 200 || !isAnswer(answer.body))
    throw new Error(
      `The pairing code was not taken: status ${answer.status}, ${JSON.stringify(answer.body)}`,
    );
  checkAnswer(findings, unit, answer.body, request);
  const again = await post(enrolling.server, good);
  const same = isAnswer(again.body) && again.body.certificateChain === answer.body.certificateChain;
  findings.check(
    "FP-8.6",
    same,
    "the same code and key got the same certificate again",
    `the same code and key were answered ${again.status}, with another certificate or none`,
  );
  const other = await post(enrolling.server, { ...good, certificateRequest: (await requestFor(unit)).pem });
  findings.check(
    "FP-8.6",
    other.status >= 400,
    "another key did not",
    "the same code gave a certificate for another key",
  );
  refusal(findings, "a code already spent, with another key", other, ["already-used"]);
  const { certificateChain, authority, broker } = answer.body;
  return { unit, key: request.key, certificateChain, authority, ...broker };
}

async function checkRefusals(
  findings: Findings,
  { server, unit, code }: Enrolling,
  request: RequestFor,
): Promise<void> {
  const good = { code, unit, certificateRequest: request.pem };
  const wrongName = (await requestFor("CU-NOT-MINE")).pem;
  const stranger = { ...good, unit: "CU-NOT-MINE", certificateRequest: wrongName };
  const tries = [
    ["a request that is no JSON", "{", ["unreadable-request"]],
    [
      "a body over 65 536 bytes",
      JSON.stringify({ ...good, code: "2".repeat(70_000) }),
      ["unreadable-request"],
    ],
    [
      "a request for another name than its unit",
      { ...good, certificateRequest: wrongName },
      ["key-not-proved", "unreadable-request"],
    ],
    ["a code of another unit", stranger, ["another-unit"]],
  ] as const;
  for (const [what, body, reasons] of tries) refusal(findings, what, await post(server, body), reasons);
}

function refusal(
  findings: Findings,
  what: string,
  { status, body }: Answer,
  reasons: readonly string[],
): void {
  const refused = isRecord(body) ? body.refused : undefined;
  const known = enrolRefusalReasons.find((reason) => reason === refused);
  const good = status >= 400 && status < 500 && known !== undefined && reasons.includes(known);
  const told = isRecord(body) && typeof body.message === "string" ? known : undefined;
  findings.check(
    "FP-8.5",
    good && told !== undefined,
    `${what} was refused as ${told}`,
    `${what} was answered ${status} ${String(refused)}, not one of ${reasons.join(", ")}`,
  );
}

function checkAnswer(findings: Findings, unit: string, answer: EnrolAnswer, { key }: RequestFor): void {
  const leaf = new X509Certificate(answer.certificateChain);
  const ownKey = createPublicKey(key).export({ type: "spki", format: "der" });
  const itsKey = leaf.publicKey.export({ type: "spki", format: "der" });
  const problems = [
    itsKey.equals(ownKey) ? "" : "the certificate is for another key",
    leaf.subject === `CN=${unit}` ? "" : `its name is ${leaf.subject}`,
    answer.topicRoot === topicRoot(unit) ? "" : `topicRoot is ${answer.topicRoot}`,
    answer.authority.includes("BEGIN CERTIFICATE") ? "" : "authority is no PEM",
  ].filter((problem) => problem !== "");
  findings.check(
    "FP-8.4",
    problems.length === 0,
    "the answer has a certificate for the key, the authority, the broker, the root of topics and a plan",
    problems.join(", "),
  );
  findings.holds("FP-8.3", "a request in JSON with a PKCS#10 in PEM was taken");
}

async function post(server: string, body: string | EnrolRequest): Promise<Answer> {
  const response = await fetch(new URL("/enrol", server), {
    method: "POST",
    headers: { "content-type": "application/json" },
    body: typeof body === "string" ? body : JSON.stringify(body),
  });
  const text = await response.text();
  try {
    return { status: response.status, body: JSON.parse(text) };
  } catch {
    return { status: response.status, body: text };
  }
}

const isRecord = (value: unknown): value is Readonly<Record<string, unknown>> =>
  typeof value === "object" && value !== null;

function isAnswer(value: unknown): value is EnrolAnswer {
  if (!isRecord(value) || !isRecord(value.broker)) return false;
  const texts = [value.certificateChain, value.authority, value.topicRoot, value.broker.host];
  const isWhole = texts.every((each) => typeof each === "string") && typeof value.broker.port === "number";
  return isWhole && (value.plan === null || (isRecord(value.plan) && isPlan(value.plan)));
}

const isPlan = ({
  version,
  intervalMinutes,
  holdSeconds,
  kinds,
}: Readonly<Record<string, unknown>>): boolean =>
  [version, intervalMinutes, holdSeconds].every((each) => typeof each === "number") && Array.isArray(kinds);
