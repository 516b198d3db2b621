import { createPublicKey, type KeyObject } from "node:crypto";
import { z } from "zod";
import { type PairingCodeId, pairingCodeId } from "../domain/ids.ts";
import { type Instant, millisecondsIn } from "../domain/units.ts";
import { thumbprintOf } from "./certificate-request.ts";
import { signText, verifyText } from "./signed-text.ts";

/** What a pairing code says; all of it is signed.
 *  On paper: header `alg` EdDSA, `kid` the signing key, `typ` pairing+jws; claims `iss` the programme's authority,
 *  `sub` the unit's serial, `loan` or `bench` the reference of what it joins, `use` the purpose, `iat` and `exp` in seconds since 1970,
 *  `jti` the one-time id. */
export interface PairingClaims {
  readonly issuer: string;
  readonly unit: string;
  readonly joins: "loan" | "bench";
  readonly reference: string;
  readonly issuedAt: Instant;
  readonly expiresAt: Instant;
  readonly id: PairingCodeId;
}

/** Named in the code, so that what it is for can't be mistaken. */
export const pairingPurpose = "enrol";
export const benchPurpose = "bench";
const tokenType = "pairing+jws";

export interface PairingKey {
  readonly id: string;
  readonly privateKey: KeyObject;
  readonly publicKey: KeyObject;
}

export async function pairingKeyFrom(privateKey: KeyObject): Promise<PairingKey> {
  const publicKey = createPublicKey(privateKey);
  // Short, because it is in every printed code; a mix-up would be caught by the signature.
  const id = (await thumbprintOf(publicKey)).slice(0, 8);
  return { id, privateKey, publicKey };
}

const toSeconds = (at: Instant): number => Math.floor(at / millisecondsIn.second);

export async function signPairingToken(claims: PairingClaims, key: PairingKey): Promise<string> {
  const content = {
    iss: claims.issuer,
    sub: claims.unit,
    [claims.joins]: claims.reference,
    use: claims.joins === "loan" ? pairingPurpose : benchPurpose,
    iat: toSeconds(claims.issuedAt),
    exp: toSeconds(claims.expiresAt),
    jti: claims.id,
  };
  const header = { kid: key.id, typ: tokenType };
  return signText(new TextEncoder().encode(JSON.stringify(content)), header, key.privateKey);
}

const contentSchema = z.object({
  iss: z.string(),
  sub: z.string(),
  loan: z.string().optional(),
  bench: z.string().optional(),
  use: z.enum([pairingPurpose, benchPurpose]),
  iat: z.int(),
  exp: z.int(),
  jti: z.string().min(1),
});

export type ReadToken =
  | { readonly kind: "token"; readonly id: PairingCodeId }
  | { readonly kind: "unreadable" }
  | { readonly kind: "not-ours" };

/** Who signed it and which code it is. The registry, not the token, says what has become of the code. */
export async function readPairingToken(text: string, issuer: string, key: PairingKey): Promise<ReadToken> {
  const verified = await verifyText(text, key.publicKey);
  switch (verified.kind) {
    case "not-signed-text":
      return { kind: "unreadable" };
    case "another-signature":
      return { kind: "not-ours" };
    case "signed": {
      if (verified.header.typ !== tokenType) return { kind: "unreadable" };
      const content = contentSchema.safeParse(jsonFrom(verified.content));
      if (!content.success) return { kind: "unreadable" };
      return content.data.iss === issuer
        ? { kind: "token", id: pairingCodeId(content.data.jti) }
        : { kind: "not-ours" };
    }
  }
}

function jsonFrom(content: Uint8Array): unknown {
  try {
    return JSON.parse(new TextDecoder().decode(content));
  } catch {
    return null;
  }
}
