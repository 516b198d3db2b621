import { type CertificateSerial, certificateSerial } from "../ids.ts";

/** Certificate serial numbers come in upper and lower case, with and without leading zeros or colons, from different
 *  tools; the registry knows one form. @returns null for what is not hexadecimal */
export function readCertificateSerial(hexadecimal: string): CertificateSerial | null {
  const digits = hexadecimal.replaceAll(":", "").toLowerCase().replace(/^0+/, "");
  return /^[0-9a-f]{1,40}$/.test(digits) ? certificateSerial(digits) : null;
}
