import { instant, millisecondsIn } from "../domain/units.ts";
import type { Services } from "../services.ts";
import { revokedCertificates } from "../store/certificates.ts";
import type { Enrolment } from "./enrolment.ts";

/** A certificate stays on the list a month beyond its own end, for brokers whose clock is wrong. */
const keptMilliseconds = 30 * 24 * millisecondsIn.hour;

/** The revocation list as of now, PEM. */
export async function currentRevocationList(services: Services, enrolment: Enrolment): Promise<string> {
  const expiredBefore = instant(services.clock.now() - keptMilliseconds);
  return enrolment.authority.crl(revokedCertificates(services.db, expiredBefore));
}
