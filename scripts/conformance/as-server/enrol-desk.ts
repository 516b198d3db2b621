import "reflect-metadata";
import { once } from "node:events";
import { createServer, type IncomingMessage } from "node:http";
import { Pkcs10CertificateRequest } from "@peculiar/x509";
import type { EnrolAnswer, EnrolRefusal } from "../../../firmware-protocol/src/enrolment.ts";
import { topicRoot } from "../../../firmware-protocol/src/topics.ts";
import type { RunAuthority } from "../authority.ts";
import type { Findings } from "../findings.ts";

export interface EnrolDeskOptions {
  readonly unit: string;
  readonly code: string;
  readonly authority: RunAuthority;
  readonly findings: Findings;
  /** 0: any free one. */
  readonly port: number;
  readonly broker: { readonly host: string; readonly port: number };
}

export interface EnrolDesk {
  readonly port: number;
  stop(): Promise<void>;
}

const mostBytes = 65_536;

/** Where the unit spends its pairing code: `POST /enrol` (section 8). */
export async function openEnrolDesk(options: EnrolDeskOptions): Promise<EnrolDesk> {
  const server = createServer((request, response) => {
    void readBody(request).then(async (body) => {
      const answer = await claim(options, body);
      response.writeHead("refused" in answer ? 400 : 200, { "content-type": "application/json" });
      response.end(JSON.stringify(answer));
    });
  });
  server.listen(options.port, "0.0.0.0");
  await once(server, "listening");
  const address = server.address();
  const port = typeof address === "object" && address !== null ? address.port : options.port;
  const stop = async (): Promise<void> => {
    server.closeAllConnections();
    await new Promise((closed) => server.close(closed));
  };
  return { port, stop };
}

async function claim(options: EnrolDeskOptions, body: string): Promise<EnrolAnswer | EnrolRefusal> {
  const { findings, unit, code, authority, broker } = options;
  const claimed = readClaim(body);
  const request = claimed === null ? null : requestIn(claimed.certificateRequest);
  if (claimed === null || request === null) {
    findings.broken("FP-8.3", "its request was no JSON with code, unit and certificateRequest");
    return { refused: "unreadable-request", message: "The request can't be read." };
  }
  const plainCode = (text: string): string => text.replaceAll("-", "").toUpperCase();
  if (plainCode(claimed.code) !== plainCode(code))
    return { refused: "unreadable-code", message: "This is not the code of this run." };
  findings.holds("FP-8.1", "it passed on the code that it was given");
  const names = request.subjectName.getField("CN");
  const proved = await request.verify();
  const good = proved && claimed.unit === unit && names.length === 1 && names[0] === unit;
  findings.check(
    "FP-8.3",
    good && body.length <= mostBytes,
    "its request is signed with its own key and names its serial only",
    `its request names ${names.join(", ")} for ${claimed.unit}${proved ? "" : ", and is not signed with its own key"}`,
  );
  if (!good)
    return { refused: "key-not-proved", message: "The request does not prove the key of this unit." };
  const { name } = request.publicKey.algorithm;
  findings.check(
    "FP-8.2",
    name === "ECDSA" || name === "Ed25519",
    `its key is ${name}`,
    `its key is ${name}, not P-256 or Ed25519`,
  );
  return {
    certificateChain: (await authority.unit(unit, request.publicKey)) + authority.pem,
    authority: authority.pem,
    broker,
    topicRoot: topicRoot(unit),
    plan: { version: 1, intervalMinutes: 30, holdSeconds: 60, kinds: ["lean-left", "lean-right"] },
  };
}

interface Claim {
  readonly code: string;
  readonly unit: string;
  readonly certificateRequest: string;
}

function readClaim(body: string): Claim | null {
  try {
    const said: unknown = JSON.parse(body);
    if (typeof said !== "object" || said === null) return null;
    const { code, unit, certificateRequest } = Object.fromEntries(Object.entries(said));
    const texts = [code, unit, certificateRequest].every((each) => typeof each === "string");
    return texts
      ? { code: String(code), unit: String(unit), certificateRequest: String(certificateRequest) }
      : null;
  } catch {
    return null;
  }
}

function requestIn(pem: string): Pkcs10CertificateRequest | null {
  try {
    return new Pkcs10CertificateRequest(pem);
  } catch {
    return null;
  }
}

async function readBody(request: IncomingMessage): Promise<string> {
  const chunks: Buffer[] = [];
  for await (const chunk of request) chunks.push(Buffer.from(chunk));
  return Buffer.concat(chunks).toString("utf8");
}
