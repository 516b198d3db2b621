import { X509Certificate } from "node:crypto";
import { encodeDownlink } from "../../firmware-protocol/src/encode.ts";
import { millisecondsIn } from "../domain/units.ts";
import type { CertificateToSend } from "../programme/renew-certificates.ts";
import type { UnitCommand } from "../store/unit-commands.ts";

export function commandBytes({ id, kind, expiresAt, body }: UnitCommand): Uint8Array {
  return encodeDownlink({
    kind: "command",
    id,
    expiresUnixSeconds: Math.floor(expiresAt / millisecondsIn.second),
    action: kind,
    ...(body.planVersion !== undefined && { planVersion: body.planVersion }),
  });
}

/** The unit's certificate alone: its issuer is the authority that the unit was given when it enrolled. */
export function certificateBytes({ renewal, certificate }: CertificateToSend): Uint8Array {
  return encodeDownlink({
    kind: "certificate",
    renewal,
    chain: [new Uint8Array(new X509Certificate(certificate.pem).raw)],
  });
}
