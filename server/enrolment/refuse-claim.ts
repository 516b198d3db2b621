import type { EnrolRefusalReason } from "../../firmware-protocol/src/enrolment.ts";
import { isSerial } from "../../firmware-protocol/src/topics.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import type { StoredPairingCode } from "../store/pairing-codes.ts";
import { mayAuditRefusal } from "./claim-budget.ts";
import { benchWords, refusalWords } from "./claim-words.ts";
import { subjectOf } from "./code-subject.ts";

export interface ClaimRefused {
  readonly kind: "refused";
  readonly reason: EnrolRefusalReason;
  /** What is wrong and what to do next, for the person beside the unit. */
  readonly message: string;
}

export interface RefusedClaim {
  readonly reason: EnrolRefusalReason;
  /** The code, where it could be found. */
  readonly code: StoredPairingCode | null;
  /** The serial the caller gave; not proved. null: none could be read. */
  readonly claimedUnit: string | null;
  readonly remoteAddress: string;
  /** What exactly was wrong, for the audit. */
  readonly detail: string | null;
}

/** Writes the refusal into the audit, which holds the code's one-time id where known and never the code itself. */
export function refuseClaim(services: Services, refused: RefusedClaim): ClaimRefused {
  const { reason, code } = refused;
  const now = services.clock.now();
  // The serial is a stranger's word: it goes into the audit only when it has the form of one.
  const claimedUnit =
    refused.claimedUnit !== null && isSerial(refused.claimedUnit) ? refused.claimedUnit : null;
  services.db.transaction(
    (tx) => {
      if (!mayAuditRefusal(tx, refused.remoteAddress, now)) return;
      appendAudit(tx, {
        at: now,
        actor: { kind: "system" },
        action: "refuse-enrolment",
        subject: code === null ? "enrolment" : subjectOf(code.joins),
        detail: { reason, code: code?.id ?? null, claimedUnit, detail: refused.detail },
      });
    },
    { behavior: "immediate" },
  );
  services.log.info({ reason, code: code?.id ?? null, claimedUnit }, "enrolment refused");
  const message = code?.joins.kind === "bench" ? benchWords[reason] : undefined;
  return { kind: "refused", reason, message: message ?? refusalWords[reason] };
}
