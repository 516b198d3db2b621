import { maximumCertificateBytes } from "./limits.ts";

/** [FP-5.59] [FP-7.15] What is inside is for whoever checks its signature; here only its size is held to a bound.
 *  @returns what is wrong with a request's or a certificate's DER bytes, or null */
export const derProblem = (bytes: Uint8Array): string | null =>
  bytes.length < 1 || bytes.length > maximumCertificateBytes
    ? `${bytes.length} bytes, where 1 to ${maximumCertificateBytes} may stand`
    : null;
