import "reflect-metadata";
import { webcrypto } from "node:crypto";
import { Pkcs10CertificateRequestGenerator } from "@peculiar/x509";
import type { EnrolRequest } from "../../firmware-protocol/src/enrolment.ts";
import type { LoanId } from "../../server/domain/ids.ts";
import { claimPairingCode } from "../../server/enrolment/claim-pairing-code.ts";
import { type Enrolment, openEnrolment } from "../../server/enrolment/enrolment.ts";
import { type IssuedPairingCode, issuePairingCode } from "../../server/enrolment/issue-pairing-code.ts";
import { signingAlgorithm } from "../../server/enrolment/key-pairs.ts";
import { audit } from "../../server/store/schema/audit.ts";
import { cast, type TestServices, testServices, things } from "../support/cast.ts";

export const brokerAddress = { host: "broker.example", port: 8883 } as const;

export interface Setting {
  readonly services: TestServices;
  readonly enrolment: Enrolment;
}

export async function newSetting(): Promise<Setting> {
  const services = testServices();
  return { services, enrolment: await reopen(services) };
}

export const reopen = (services: TestServices): Promise<Enrolment> =>
  openEnrolment(services, { dataFolder: services.dataFolder, broker: brokerAddress });

export async function issue(
  { services, enrolment }: Setting,
  loan: LoanId = things.loan,
): Promise<IssuedPairingCode> {
  const issued = await issuePairingCode(services, enrolment, cast.coordinator, loan);
  if (issued.kind === "refused") throw new Error(issued.sentence);
  return issued;
}

export const newKeys = (
  algorithm: webcrypto.EcKeyGenParams | webcrypto.Algorithm = signingAlgorithm,
): Promise<webcrypto.CryptoKeyPair> =>
  // The signature asks for one kind of parameters at a time; both kinds make a pair here.
  webcrypto.subtle.generateKey(algorithm as webcrypto.EcKeyGenParams, true, ["sign", "verify"]);

export async function requestFor(
  unit: string,
  keys: webcrypto.CryptoKeyPair,
  algorithm: webcrypto.Algorithm = signingAlgorithm,
): Promise<string> {
  const request = await Pkcs10CertificateRequestGenerator.create({
    name: [{ CN: [unit] }],
    signingAlgorithm: algorithm,
    keys,
  });
  return request.toString("pem");
}

/** A claim as a unit in good order makes it, with what the test changes. */
export async function claim(
  setting: Setting,
  code: string,
  changes: Partial<EnrolRequest> = {},
  from = "192.0.2.7",
) {
  const unit = changes.unit ?? things.lentUnit;
  const certificateRequest = changes.certificateRequest ?? (await requestFor(unit, await newKeys()));
  return claimPairingCode(setting.services, setting.enrolment, { code, unit, certificateRequest }, from);
}

/** What a claim came to, in one word. */
export async function outcomeOf(claimed: ReturnType<typeof claim>): Promise<string> {
  const outcome = await claimed;
  return outcome.kind === "refused" ? outcome.reason : outcome.kind;
}

export const auditRows = ({ services }: Setting, action: string) =>
  services.db
    .select()
    .from(audit)
    .all()
    .filter((row) => row.action === action);
