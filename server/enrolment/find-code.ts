import { readTypedCode } from "../domain/enrolment/typed-code.ts";
import type { Services } from "../services.ts";
import { pairingCodeById, pairingCodeByTypedHash, type StoredPairingCode } from "../store/pairing-codes.ts";
import { mayTryTypedCode } from "./claim-budget.ts";
import type { Enrolment } from "./enrolment.ts";
import { readPairingToken } from "./pairing-token.ts";
import { typedFormHash } from "./typed-form.ts";

export type FoundCode =
  | { readonly kind: "found"; readonly code: StoredPairingCode }
  | {
      readonly kind: "refused";
      readonly reason: "unreadable-code" | "signature-not-ours" | "too-many-tries";
    };

/** From what was scanned or typed to the code it stands for, if this programme issued one. */
export async function findCode(
  services: Services,
  enrolment: Enrolment,
  text: string,
  remoteAddress: string,
): Promise<FoundCode> {
  const trimmed = text.trim();
  // The two forms can't be mistaken: a JWS has dots and a typed code has none.
  if (!trimmed.includes(".")) return findTyped(services, trimmed, remoteAddress);
  const token = await readPairingToken(trimmed, enrolment.issuer, enrolment.pairingKey);
  switch (token.kind) {
    case "unreadable":
      return { kind: "refused", reason: "unreadable-code" };
    case "not-ours":
      return { kind: "refused", reason: "signature-not-ours" };
    case "token":
      return known(pairingCodeById(services.db, token.id));
  }
}

function findTyped(services: Services, text: string, remoteAddress: string): FoundCode {
  const now = services.clock.now();
  const allowed = services.db.transaction((tx) => mayTryTypedCode(tx, remoteAddress, now), {
    behavior: "immediate",
  });
  if (!allowed) return { kind: "refused", reason: "too-many-tries" };
  const typed = readTypedCode(text);
  if (typed === null) return { kind: "refused", reason: "unreadable-code" };
  return known(pairingCodeByTypedHash(services.db, typedFormHash(typed)));
}

/** A well-formed code that the registry doesn't know was not issued by it. */
const known = (code: StoredPairingCode | undefined): FoundCode =>
  code === undefined ? { kind: "refused", reason: "signature-not-ours" } : { kind: "found", code };
