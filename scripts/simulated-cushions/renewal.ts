import { createPrivateKey, X509Certificate } from "node:crypto";
import { PemConverter } from "@peculiar/x509";
import type { Enrolled, UnitKey } from "./enrol.ts";

/** The request as it goes into a renewal: DER. */
export const requestBytes = (key: UnitKey): Uint8Array =>
  new Uint8Array(PemConverter.decodeFirst(key.certificateRequest));

/** Checks a certificate that came for a new key: that key's, this unit's, and from the authority the unit was given at
 *  enrolment [FP-12.5].
 *  @returns the chain to connect with, PEM; null: not to be taken */
export function certificateFor(
  enrolled: Enrolled,
  key: UnitKey,
  chain: readonly Uint8Array[],
): string | null {
  const [leaf] = chain;
  if (leaf === undefined) return null;
  const certificate = new X509Certificate(leaf);
  const authority = new X509Certificate(enrolled.authority);
  const good =
    certificate.checkPrivateKey(createPrivateKey(key.privateKey)) &&
    certificate.subject === `CN=${enrolled.unit}` &&
    certificate.verify(authority.publicKey);
  return good ? certificate.toString() + enrolled.authority : null;
}
