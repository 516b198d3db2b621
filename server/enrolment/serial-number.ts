import type { Chance } from "../chance.ts";
import { type CertificateSerial, certificateSerial } from "../domain/ids.ts";

/** 126 random bits in 16 octets: positive, never with a leading zero, within the 20 octets of RFC 5280 4.1.2.2. */
export function newSerialNumber(chance: Chance): CertificateSerial {
  const octets = Buffer.from(chance.bytes(16));
  octets[0] = ((octets[0] ?? 0) & 0x3f) | 0x40;
  return certificateSerial(octets.toString("hex"));
}
