import { type CommandId, commandId, type UnitSerial } from "../domain/ids.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import { addCertificate, certificateByKey, usableCertificatesOf } from "../store/certificates.ts";
import type { Database } from "../store/database.ts";
import { loanById } from "../store/loans.ts";
import { commandOfUnit, insertCommand, renewalsOf, saveBody } from "../store/unit-commands.ts";
import type { Authority } from "./authority.ts";
import { type RequestProblem, type VerifiedRequest, verifyRequest } from "./certificate-request.ts";
import { asPem } from "./pem.ts";
import type { IssuedCertificate } from "./unit-certificate.ts";

export interface RenewalRequest {
  /** Who holds the connection, by its certificate. */
  readonly unit: UnitSerial;
  /** The message that asks. */
  readonly boot: number;
  readonly sequence: number;
  /** PKCS#10, DER. */
  readonly request: Uint8Array;
  /** The command that asked for it; null: the unit asks of its own accord. */
  readonly command: CommandId | null;
}

export type RenewalProblem = RequestProblem | "no-certificate" | "loan-ended" | "key-used-before";

export type RenewalOutcome =
  | { readonly kind: "certified" | "same-again" }
  | { readonly kind: "refused"; readonly reason: RenewalProblem };

/** Answers a unit that asks for a new certificate over the connection its old one opened (FP-12.3). The same key gets
 *  the same certificate again (FP-12.4). The certificate goes out with the unit's session. */
export async function renewCertificate(
  services: Services,
  authority: Pick<Authority, "issue">,
  request: RenewalRequest,
): Promise<RenewalOutcome> {
  const pem = asPem("CERTIFICATE REQUEST", Uint8Array.from(request.request).buffer);
  const verified = await verifyRequest(pem, request.unit);
  const outcome =
    typeof verified === "string" ? refusal(verified) : await certify(services, authority, request, verified);
  if (outcome.kind === "refused") keepRefusal(services, request, outcome.reason);
  services.live.changed(`commands:${request.unit}`, `unit:${request.unit}`);
  return outcome;
}

const refusal = (reason: RenewalProblem) => ({ kind: "refused", reason }) as const;

async function certify(
  services: Services,
  authority: Pick<Authority, "issue">,
  request: RenewalRequest,
  verified: VerifiedRequest,
): Promise<RenewalOutcome> {
  const early = decide(services.db, services, request, verified);
  if (early.kind === "refused") return early;
  const issued = early.kind === "certify" ? await authority.issue(verified) : null;
  return services.db.transaction(
    (tx): RenewalOutcome => {
      const decision = decide(tx, services, request, verified);
      if (decision.kind === "refused") return decision;
      if (decision.kind === "certify" && issued !== null) store(tx, services, request, verified, issued);
      return { kind: decision.kind === "certify" ? "certified" : "same-again" };
    },
    { behavior: "immediate" },
  );
}

type Decision = { readonly kind: "certify" | "same-again" } | ReturnType<typeof refusal>;

/** A request seen before is pointed at the message that asked last. */
function decide(
  db: Database,
  services: Services,
  request: RenewalRequest,
  verified: VerifiedRequest,
): Decision {
  const known = certificateByKey(db, verified.keyThumbprint);
  if (known !== undefined) {
    const asked = renewalsOf(db, request.unit).find(({ renewal }) => renewal.certificate === known.serial);
    if (asked === undefined || asked.renewal.usedAt !== null || known.revokedAt !== null)
      return refusal("key-used-before");
    const { boot, sequence } = request;
    saveBody(db, asked.id, { ...asked.body, renewal: { ...asked.renewal, boot, sequence } });
    return { kind: "same-again" };
  }
  const [newest] = usableCertificatesOf(db, request.unit, services.clock.now());
  if (newest === undefined) return refusal("no-certificate");
  // A session at the bench is over before its certificate is.
  if (newest.loanId === null || loanById(db, newest.loanId)?.endedAt !== null) return refusal("loan-ended");
  return { kind: "certify" };
}

function store(
  tx: Database,
  services: Services,
  request: RenewalRequest,
  verified: VerifiedRequest,
  issued: IssuedCertificate,
): void {
  const { unit, boot, sequence } = request;
  const at = services.clock.now();
  const old = usableCertificatesOf(tx, unit, at);
  const [newest] = old;
  if (newest === undefined) throw new Error(`${unit} lost its certificate while it was renewed`);
  addCertificate(tx, {
    serial: issued.serial,
    unitSerial: unit,
    loanId: newest.loanId,
    benchSessionId: null,
    keyThumbprint: verified.keyThumbprint,
    pem: issued.pem,
    issuedAt: at,
    expiresAt: issued.expiresAt,
    revokedAt: null,
    revokeReason: null,
  });
  const replaces = old.map(({ serial }) => serial);
  const renewal = { boot, sequence, certificate: issued.serial, replaces, usedAt: null };
  const command = request.command === null ? null : commandOfUnit(tx, unit, request.command);
  if (command?.kind === "renew-certificate" && command.body.renewal === undefined)
    saveBody(tx, command.id, { ...command.body, renewal });
  else keepOwnAccord(tx, services, request, { state: "done", reason: null, body: { renewal } });
  appendAudit(tx, {
    at,
    actor: { kind: "unit", serial: unit },
    action: "renew-certificate",
    subject: `unit:${unit}`,
    detail: { certificate: issued.serial, replaces, boot, sequence },
  });
}

/** Where no command of ours asked: kept beside the commands, under the name of the message. */
function keepOwnAccord(
  tx: Database,
  services: Services,
  { unit, boot, sequence }: RenewalRequest,
  came: {
    readonly state: "done" | "refused";
    readonly reason: string | null;
    readonly body: Parameters<typeof insertCommand>[1]["body"];
  },
): boolean {
  const id = commandId(`renewal_${unit}_${boot}_${sequence}`);
  if (commandOfUnit(tx, unit, id) !== null) return false;
  const at = services.clock.now();
  insertCommand(tx, {
    id,
    unitSerial: unit,
    kind: "renew-certificate",
    body: came.body,
    issuedAt: at,
    issuedBy: null,
    expiresAt: at,
    sentAt: null,
    state: came.state,
    answer: { state: came.state, reason: came.reason, detail: null },
    answeredAt: at,
    found: null,
  });
  return true;
}

/** The unit gets no answer; the staff see why on its page. */
function keepRefusal(services: Services, request: RenewalRequest, reason: RenewalProblem): void {
  const { unit, boot, sequence } = request;
  services.db.transaction(
    (tx) => {
      if (!keepOwnAccord(tx, services, request, { state: "refused", reason, body: {} })) return;
      appendAudit(tx, {
        at: services.clock.now(),
        actor: { kind: "unit", serial: unit },
        action: "refuse-renewal",
        subject: `unit:${unit}`,
        detail: { reason, boot, sequence },
      });
    },
    { behavior: "immediate" },
  );
}
