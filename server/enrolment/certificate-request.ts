import "reflect-metadata";
import { createPublicKey, type KeyObject } from "node:crypto";
import { Pkcs10CertificateRequest } from "@peculiar/x509";
import { calculateJwkThumbprint, exportJWK } from "jose";
import type { UnitSerial } from "../domain/ids.ts";

/** A certificate request whose sender has proved to hold the key. Made by `verifyRequest` only. */
export interface VerifiedRequest {
  readonly unit: UnitSerial;
  /** SubjectPublicKeyInfo, DER. */
  readonly publicKey: ArrayBuffer;
  /** RFC 7638, SHA-256. */
  readonly keyThumbprint: string;
}

export type RequestProblem = "not-a-request" | "key-type" | "signature" | "name";

/** Checks a PKCS#10 request (RFC 2986): readable, a P-256 or Ed25519 key, signed by that key, for this unit. */
export async function verifyRequest(
  pem: string,
  unit: UnitSerial,
): Promise<VerifiedRequest | RequestProblem> {
  const request = requestFrom(pem);
  const key = request === null ? null : publicKeyFrom(request.publicKey.rawData);
  if (request === null || key === null) return "not-a-request";
  if (!acceptedKey(key)) return "key-type";
  if (!(await signatureHolds(request))) return "signature";
  const commonNames = request.subjectName.getField("CN");
  if (commonNames.length !== 1 || commonNames[0] !== unit) return "name";
  const keyThumbprint = await thumbprintOf(key);
  return { unit, publicKey: request.publicKey.rawData, keyThumbprint };
}

/** RFC 7638 thumbprint with SHA-256: names a key whatever it is wrapped in. */
export async function thumbprintOf(publicKey: KeyObject): Promise<string> {
  return calculateJwkThumbprint(await exportJWK(publicKey), "sha256");
}

function requestFrom(pem: string): Pkcs10CertificateRequest | null {
  if (!/-----BEGIN (NEW )?CERTIFICATE REQUEST-----/.test(pem)) return null;
  try {
    return new Pkcs10CertificateRequest(pem);
  } catch {
    return null;
  }
}

/** The platform's own reader refuses points that are not on the curve. */
function publicKeyFrom(subjectPublicKeyInfo: ArrayBuffer): KeyObject | null {
  try {
    return createPublicKey({ key: Buffer.from(subjectPublicKeyInfo), format: "der", type: "spki" });
  } catch {
    return null;
  }
}

function acceptedKey(key: KeyObject): boolean {
  if (key.asymmetricKeyType === "ed25519") return true;
  return key.asymmetricKeyType === "ec" && key.asymmetricKeyDetails?.namedCurve === "prime256v1";
}

async function signatureHolds(request: Pkcs10CertificateRequest): Promise<boolean> {
  try {
    return await request.verify();
  } catch {
    // An algorithm the platform doesn't know proves nothing.
    return false;
  }
}
