import "reflect-metadata";
import { webcrypto } from "node:crypto";
import * as x509 from "@peculiar/x509";
import type { EnrolAnswer, EnrolRefusal, EnrolRequest } from "../../firmware-protocol/src/enrolment.ts";

/** A key that never leaves the unit, and the request that proves it holds it. */
export interface UnitKey {
  /** PKCS#8, PEM. */
  readonly privateKey: string;
  /** PKCS#10, PEM. */
  readonly certificateRequest: string;
}

const keyAlgorithm = { name: "ECDSA", namedCurve: "P-256", hash: "SHA-256" } as const;

/** Makes a fresh P-256 key and signs a request for this serial with it. */
export async function makeUnitKey(serial: string): Promise<UnitKey> {
  const keys = await webcrypto.subtle.generateKey(keyAlgorithm, true, ["sign", "verify"]);
  const request = await x509.Pkcs10CertificateRequestGenerator.create({
    name: `CN=${serial}`,
    keys,
    signingAlgorithm: keyAlgorithm,
  });
  const pkcs8 = await webcrypto.subtle.exportKey("pkcs8", keys.privateKey);
  return {
    privateKey: x509.PemConverter.encode(pkcs8, "PRIVATE KEY"),
    certificateRequest: request.toString("pem"),
  };
}

export interface Enrolled extends EnrolAnswer {
  readonly unit: string;
  readonly privateKey: string;
}

export type EnrolOutcome =
  | { readonly kind: "enrolled"; readonly enrolled: Enrolled }
  | { readonly kind: "refused"; readonly status: number; readonly refusal: EnrolRefusal };

/** Claims a pairing code for a unit.
 *  @throws when the server can't be reached or answers something that is neither */
export async function enrol(
  server: string,
  serial: string,
  code: string,
  key: UnitKey,
): Promise<EnrolOutcome> {
  const request: EnrolRequest = { code, unit: serial, certificateRequest: key.certificateRequest };
  const response = await fetch(new URL("/enrol", server), {
    method: "POST",
    headers: { "content-type": "application/json" },
    body: JSON.stringify(request),
  });
  const answer: unknown = await response.json();
  if (response.ok && isAnswer(answer)) {
    return { kind: "enrolled", enrolled: { ...answer, unit: serial, privateKey: key.privateKey } };
  }
  if (isRefusal(answer)) return { kind: "refused", status: response.status, refusal: answer };
  throw new Error(`${server}/enrol answered ${response.status} with neither a certificate nor a refusal.`);
}

const isAnswer = (value: unknown): value is EnrolAnswer =>
  typeof value === "object" &&
  value !== null &&
  "certificateChain" in value &&
  "broker" in value &&
  "plan" in value;

const isRefusal = (value: unknown): value is EnrolRefusal =>
  typeof value === "object" && value !== null && "refused" in value && "message" in value;
