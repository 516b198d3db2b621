import "reflect-metadata";
import {
  AuthorityKeyIdentifierExtension,
  BasicConstraintsExtension,
  ExtendedKeyUsage,
  ExtendedKeyUsageExtension,
  KeyUsageFlags,
  KeyUsagesExtension,
  PublicKey,
  SubjectKeyIdentifierExtension,
  X509CertificateGenerator,
} from "@peculiar/x509";
import type { Chance } from "../chance.ts";
import type { CertificateSerial } from "../domain/ids.ts";
import type { Hours, Instant } from "../domain/units.ts";
import type { AuthorityRoot } from "./authority-root.ts";
import type { VerifiedRequest } from "./certificate-request.ts";
import { days, instantOf, validityFrom } from "./certificate-times.ts";
import { signingAlgorithm } from "./key-pairs.ts";
import { newSerialNumber } from "./serial-number.ts";

export interface IssuedCertificate {
  readonly serial: CertificateSerial;
  /** The unit's certificate alone, PEM. */
  readonly pem: string;
  readonly issuedAt: Instant;
  readonly expiresAt: Instant;
}

/** Longer than a loan usually lasts; a unit enrols anew with each loan. Assumption. */
export const unitCertificateLifetime = days(400);

/** A session at the bench revokes it sooner; this is for one that is forgotten. Assumption. */
export const benchCertificateLifetime = days(14);

/** Certifies the key for TLS client authentication as its unit, and for nothing else. Signing alone admits nobody: the
 *  broker accepts only certificates that the claim has stored. */
export async function signUnitCertificate(
  root: AuthorityRoot,
  request: VerifiedRequest,
  options: { readonly now: Instant; readonly lifetime: Hours; readonly chance: Chance },
): Promise<IssuedCertificate> {
  const serial = newSerialNumber(options.chance);
  const publicKey = new PublicKey(request.publicKey);
  const certificate = await X509CertificateGenerator.create({
    serialNumber: serial,
    subject: [{ CN: [request.unit] }],
    issuer: root.certificate.subjectName,
    ...validityFrom(options.now, options.lifetime),
    signingAlgorithm,
    publicKey,
    signingKey: root.keys.privateKey,
    extensions: [
      new BasicConstraintsExtension(false, undefined, true),
      new KeyUsagesExtension(KeyUsageFlags.digitalSignature, true),
      new ExtendedKeyUsageExtension([ExtendedKeyUsage.clientAuth]),
      await SubjectKeyIdentifierExtension.create(publicKey),
      await AuthorityKeyIdentifierExtension.create(root.keys.publicKey),
    ],
  });
  return {
    serial,
    pem: `${certificate.toString("pem")}\n`,
    issuedAt: options.now,
    expiresAt: instantOf(certificate.notAfter),
  };
}
