import type { EnrolAnswer } from "../../firmware-protocol/src/enrolment.ts";
import { topicRoot } from "../../firmware-protocol/src/topics.ts";
import type { LoanId } from "../domain/ids.ts";
import type { Services } from "../services.ts";
import type { StoredCertificate } from "../store/certificates.ts";
import { loanById } from "../store/loans.ts";
import { planToFollow, type StoredPairingCode } from "../store/pairing-codes.ts";
import type { Enrolment } from "./enrolment.ts";

/** All a unit needs to begin: who it is, whom to trust, where to connect, and what to remind of.
 *  The plan is the one in force now, also when the same certificate is fetched again. */
export function enrolAnswer(
  services: Services,
  enrolment: Enrolment,
  code: StoredPairingCode,
  certificate: StoredCertificate,
): EnrolAnswer {
  return {
    certificateChain: certificate.pem + enrolment.authority.rootPem,
    authority: enrolment.authority.rootPem,
    broker: enrolment.broker,
    topicRoot: topicRoot(code.unitSerial),
    plan: code.joins.kind === "loan" ? planOf(services, code.joins.loan) : null,
  };
}

function planOf(services: Services, loan: LoanId): EnrolAnswer["plan"] {
  const borrower = loanById(services.db, loan)?.borrowerId;
  const plan = borrower && planToFollow(services.db, borrower, services.clock.now());
  // No code is issued without a plan in force, and plans are never taken away, only followed by others.
  if (!plan) throw new Error(`loan ${loan} has lost its relief plan`);
  return {
    version: plan.version,
    intervalMinutes: plan.interval,
    holdSeconds: plan.hold,
    kinds: plan.kinds,
  };
}
