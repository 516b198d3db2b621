import type { PeerCertificate } from "node:tls";
import { readCertificateSerial } from "../domain/enrolment/certificate-serial.ts";
import type { CertificateSerial, UnitSerial } from "../domain/ids.ts";
import type { Instant } from "../domain/units.ts";
import { certificateBySerial } from "../store/certificates.ts";
import type { Database } from "../store/database.ts";

export interface Device {
  readonly unit: UnitSerial;
  readonly certificate: CertificateSerial;
}

export type DeviceRefusal =
  | "no-certificate"
  | "certificate-not-ours"
  | "certificate-revoked"
  | "certificate-expired"
  | "certificate-of-another-unit";

/** Who a connection is. TLS has shown that the certificate leads to our authority and that the other side holds its
 *  key; the registry says whether we still stand by it. */
export function deviceOf(
  db: Database,
  peer: Pick<PeerCertificate, "serialNumber" | "subject"> | null,
  now: Instant,
): Device | DeviceRefusal {
  const serial = peer === null ? null : readCertificateSerial(peer.serialNumber ?? "");
  if (peer === null || serial === null) return "no-certificate";
  const certificate = certificateBySerial(db, serial);
  // Signed but never stored: the claim it was made for didn't go through.
  if (certificate === undefined) return "certificate-not-ours";
  if (certificate.revokedAt !== null) return "certificate-revoked";
  if (certificate.expiresAt <= now) return "certificate-expired";
  if (peer.subject?.CN !== certificate.unitSerial) return "certificate-of-another-unit";
  return { unit: certificate.unitSerial, certificate: serial };
}

/** Whether an open session may go on. */
export function isStillGood(db: Database, certificate: CertificateSerial, now: Instant): boolean {
  const row = certificateBySerial(db, certificate);
  return row !== undefined && row.revokedAt === null && row.expiresAt > now;
}
