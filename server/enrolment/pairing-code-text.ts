import type { StoredPairingCode } from "../store/pairing-codes.ts";
import type { Enrolment } from "./enrolment.ts";
import { signPairingToken } from "./pairing-token.ts";
import { printedTypedForm } from "./typed-form.ts";

/** Both forms of one pairing code, for the picture and for typing. */
export interface PairingCodeText {
  readonly jws: string;
  /** In groups, as printed. */
  readonly typed: string;
}

/** Neither form is kept anywhere: each time a page shows a code, both are made from the stored row again, and come out
 *  the same to the letter. */
export async function pairingCodeText(
  enrolment: Enrolment,
  code: StoredPairingCode,
): Promise<PairingCodeText> {
  const claims = {
    issuer: enrolment.issuer,
    unit: code.unitSerial,
    joins: code.joins.kind,
    reference: code.joins.reference,
    issuedAt: code.issuedAt,
    expiresAt: code.expiresAt,
    id: code.id,
  };
  const jws = await signPairingToken(claims, enrolment.pairingKey);
  return { jws, typed: printedTypedForm(code.id, enrolment.typedKey) };
}
