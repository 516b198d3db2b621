import "reflect-metadata";
import { X509Certificate } from "node:crypto";
import { Pkcs10CertificateRequest } from "@peculiar/x509";
import type { Certificate } from "../../../firmware-protocol/src/downlink.ts";
import type { Renewal, UplinkMessage } from "../../../firmware-protocol/src/messages.ts";
import { RunAuthority } from "../authority.ts";
import { makeKeys } from "../keys.ts";
import { readyVisit } from "./scene-keeping.ts";
import type { Stage } from "./stage.ts";
import type { Visit } from "./visit.ts";

const week = 7 * 86_400;

/** A new certificate over the old one's connection, twice: one that is accepted, and one that is then refused. */
export async function sceneOfRenewal(stage: Stage, visit: Visit, tag: string): Promise<Visit> {
  const first = await askForRequest(stage, visit, `${tag}-renew`);
  if (first === null) return visit;
  const old = certificateOf(visit);
  const der = await goodAnswer(stage, first.request);
  await wrongAnswers(stage, visit, first.renewal, first.request);
  visit.say(answerTo(first.renewal, der));
  const next = await changedOver(stage, visit, old);
  return next === null ? readyVisit(stage) : await refusedAndBack(stage, next, tag);
}

interface Asked {
  readonly renewal: Renewal;
  readonly request: Pkcs10CertificateRequest;
}

async function askForRequest(stage: Stage, visit: Visit, id: string): Promise<Asked | null> {
  const { findings, options } = stage;
  const expiresUnixSeconds = Math.floor(options.now() / 1_000) + week;
  visit.say({ kind: "command", id, expiresUnixSeconds, action: "renew-certificate" });
  const renewal = await visit.next(options.patience, isRenewal);
  if (renewal === null) {
    findings.notTried(
      "FP-12.2",
      "asked for a renewal, the unit sent none (a unit may refuse the command as unsupported)",
    );
    return null;
  }
  const request = new Pkcs10CertificateRequest(Buffer.from(renewal.request));
  const names = request.subjectName.getField("CN");
  const proved = await request.verify();
  findings.check(
    "FP-8.3",
    proved && names.length === 1 && names[0] === options.unit,
    "its request is signed with its own key and names its serial only",
    `its request ${proved ? "" : "is not signed with its own key, and "}names ${names.join(", ")}`,
  );
  const before = Buffer.from(visit.socket.getPeerCertificate().pubkey ?? []);
  const isNew = before.length === 0 || !Buffer.from(request.publicKey.rawData).includes(before.subarray(-32));
  findings.check("FP-12.2", isNew, "it made a new key for it", "it asked with the key it has");
  return { renewal, request };
}

const isRenewal = (message: UplinkMessage): message is Renewal => message.kind === "renewal";
const answerTo = ({ boot, sequence }: Renewal, ...chain: readonly Uint8Array[]): Certificate => ({
  kind: "certificate",
  renewal: { boot, sequence },
  chain,
});
const derOf = (pem: string): Uint8Array => new Uint8Array(new X509Certificate(pem).raw);
const certificateOf = ({ socket }: Visit): string => socket.getPeerCertificate().fingerprint256;

const goodAnswer = async ({ options }: Stage, request: Pkcs10CertificateRequest): Promise<Uint8Array> =>
  derOf(await options.authority.unit(options.unit, request.publicKey));

/** Each is wrong in one way (FP-12.5). The unit must go on as it is. */
async function wrongAnswers(
  stage: Stage,
  visit: Visit,
  renewal: Renewal,
  request: Pkcs10CertificateRequest,
): Promise<void> {
  const { findings, options } = stage;
  const { authority, unit } = options;
  const foreign = await RunAuthority.make();
  const tries = [
    ["for another key", await authority.unit(unit, (await makeKeys()).publicKey)],
    ["of another unit", await authority.unit("CU-NOT-MINE", request.publicKey)],
    ["of another authority", await foreign.unit(unit, request.publicKey)],
  ] as const;
  for (const [what, pem] of tries) {
    visit.say(answerTo(renewal, derOf(pem)));
    const left = await visit.endsWithin(stage.quiet(1_000));
    findings.check(
      "FP-12.5",
      !left,
      `a certificate ${what} was not taken`,
      `it left the connection for a certificate ${what}`,
    );
    if (left) return;
  }
}

async function changedOver(stage: Stage, visit: Visit, old: string): Promise<Visit | null> {
  const { findings, options } = stage;
  const left = await visit.endsWithin(options.patience);
  if (!left) visit.cut();
  const next = await readyVisit(stage);
  const isNew = certificateOf(next) !== old;
  findings.advised(
    "FP-12.5",
    left && isNew,
    "it connected anew with the certificate that was right",
    "it did not connect anew with the certificate that was right",
  );
  if (!isNew) return null;
  stage.receipt(next);
  await stage.listen(next);
  return next;
}

/** Its next new certificate is refused: it must come back with the one before (FP-12.7). */
async function refusedAndBack(stage: Stage, visit: Visit, tag: string): Promise<Visit> {
  const { findings, options, server } = stage;
  const asked = await askForRequest(stage, visit, `${tag}-renew-2`);
  if (asked === null) return visit;
  const old = certificateOf(visit);
  const pem = await options.authority.unit(options.unit, asked.request.publicKey);
  server.refuse(pem);
  visit.say(answerTo(asked.renewal, derOf(pem)));
  if (!(await visit.endsWithin(options.patience))) visit.cut();
  const tried = await server.turnedAway(options.patience);
  if (tried !== "certificate-refused") {
    findings.notTried("FP-12.7", "it did not try the new certificate");
    return readyVisit(stage);
  }
  const back = await server.visit(options.patience);
  findings.check(
    "FP-12.7",
    back !== null && certificateOf(back) === old,
    "refused with the new certificate, it came back with the old one",
    "refused with the new certificate, it did not come back with the old one",
  );
  back?.acknowledge();
  return back ?? readyVisit(stage);
}
