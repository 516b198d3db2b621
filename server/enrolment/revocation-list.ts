import "reflect-metadata";
import { AuthorityKeyIdentifierExtension, Extension, X509CrlGenerator, X509CrlReason } from "@peculiar/x509";
import { after, type Instant, milliseconds, millisecondsIn } from "../domain/units.ts";
import type { RevokedCertificate } from "../store/certificates.ts";
import type { AuthorityRoot } from "./authority-root.ts";
import { dateOf } from "./certificate-times.ts";
import { signingAlgorithm } from "./key-pairs.ts";
import { asPem } from "./pem.ts";

/** A broker in front may go on with a list it fetched this long ago. Assumption: a weekend and a bank holiday. */
const listHolds = milliseconds(7 * 24 * millisecondsIn.hour);

const crlNumberExtension = "2.5.29.20";

/** The certificate revocation list (RFC 5280 section 5), PEM: lets any standard broker refuse units that were taken
 *  back. */
export async function signRevocationList(
  root: AuthorityRoot,
  revoked: readonly RevokedCertificate[],
  now: Instant,
): Promise<string> {
  const list = await X509CrlGenerator.create({
    issuer: root.certificate.subjectName,
    thisUpdate: dateOf(now),
    nextUpdate: dateOf(after(now, listHolds)),
    signingAlgorithm,
    signingKey: root.keys.privateKey,
    extensions: [
      await AuthorityKeyIdentifierExtension.create(root.keys.publicKey),
      new Extension(crlNumberExtension, false, derInteger(Math.floor(now / millisecondsIn.second))),
    ],
    entries: revoked.map((certificate) => {
      const entry = { serialNumber: certificate.serial, revocationDate: dateOf(certificate.revokedAt) };
      const reason = reasonCode(certificate.reason);
      return reason === null ? entry : { ...entry, reason };
    }),
  });
  return asPem("X509 CRL", list.rawData);
}

/** RFC 5280 5.3.1: where no code says it well the reason is left out. */
function reasonCode(reason: string | null): X509CrlReason | null {
  if (reason === "superseded") return X509CrlReason.superseded;
  if (reason === "loan-ended") return X509CrlReason.cessationOfOperation;
  if (reason === "taken-back") return X509CrlReason.privilegeWithdrawn;
  return null;
}

/** DER INTEGER of a positive number: two's complement, so a leading zero octet keeps the sign. */
function derInteger(value: number): Uint8Array<ArrayBuffer> {
  const hexadecimal = value.toString(16);
  const octets = Buffer.from(hexadecimal.length % 2 === 0 ? hexadecimal : `0${hexadecimal}`, "hex");
  const content = (octets[0] ?? 0) > 0x7f ? [0, ...octets] : [...octets];
  return Uint8Array.from([0x02, content.length, ...content]);
}
