import type { CertificateSerial, UnitSerial } from "../domain/ids.ts";
import { hours, instant, millisecondsIn } from "../domain/units.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import {
  certificateBySerial,
  certificatesEndingBefore,
  revokeReplaced,
  type StoredCertificate,
} from "../store/certificates.ts";
import { openCommandOf, type RenewalOnRecord, renewalsOf, saveBody } from "../store/unit-commands.ts";
import { issueWithin, tellOfCommand } from "./command-unit.ts";

const day = 24 * millisecondsIn.hour;
/** Long enough for a unit that is in a cupboard for some weeks. The protocol has a unit ask by itself at 30 days. */
const askWithin = 60 * day;
const askedFor = hours(7 * 24);

/** Asks each unit on loan whose certificate ends within 60 days for a new one, once a week until it has done so. */
export function askForRenewals(services: Services): void {
  const now = services.clock.now();
  for (const { unit, expiresAt } of certificatesEndingBefore(services.db, instant(now + askWithin))) {
    // One that has ended opens no connection any more: the unit must enrol anew.
    if (expiresAt <= now) continue;
    const asked = services.db.transaction(
      (tx) => {
        const open = openCommandOf(tx, unit, "renew-certificate");
        if (open !== null && open.expiresAt > now) return false;
        issueWithin(tx, services, {
          unit,
          kind: "renew-certificate",
          lifetime: askedFor,
          body: {},
          by: null,
        });
        return true;
      },
      { behavior: "immediate" },
    );
    if (asked) tellOfCommand(services, unit);
  }
}

export interface CertificateToSend {
  readonly renewal: { readonly boot: number; readonly sequence: number };
  readonly certificate: StoredCertificate;
}

/** The certificate that a unit asked for and has not used yet (FP-12.4). */
export function certificateToSend({ db }: Services, unit: UnitSerial): CertificateToSend | null {
  const newest = renewalsOf(db, unit).find(({ renewal }) => renewal.usedAt === null);
  if (newest === undefined) return null;
  const { boot, sequence, certificate: serial } = newest.renewal;
  const certificate = certificateBySerial(db, serial);
  if (certificate === undefined || certificate.revokedAt !== null) return null;
  return { renewal: { boot, sequence }, certificate };
}

/** A connection with this certificate has been accepted. Where it was to replace others, those end now (FP-12.6). */
export function certificateUsed(services: Services, unit: UnitSerial, serial: CertificateSerial): void {
  const isFirstUse = ({ renewal }: RenewalOnRecord): boolean =>
    renewal.certificate === serial && renewal.usedAt === null;
  if (!renewalsOf(services.db, unit).some(isFirstUse)) return;
  services.db.transaction(
    (tx) => {
      const at = services.clock.now();
      const found = renewalsOf(tx, unit).find(isFirstUse);
      if (found === undefined) return;
      const revoked = revokeReplaced(tx, found.renewal.replaces, at);
      saveBody(tx, found.id, { ...found.body, renewal: { ...found.renewal, usedAt: at } });
      appendAudit(tx, {
        at,
        actor: { kind: "unit", serial: unit },
        action: "replace-certificate",
        subject: `unit:${unit}`,
        detail: { certificate: serial, revoked },
      });
    },
    { behavior: "immediate" },
  );
  services.live.changed("certificates", `unit:${unit}`);
}
