import type { KeyObject } from "node:crypto";
import { type CompactJWSHeaderParameters, CompactSign, compactVerify, errors } from "jose";

/** JWS compact serialisation (RFC 7515) with EdDSA over Ed25519 (RFC 8037). The signature is deterministic: the same
 *  content under the same key is the same text, every time. */
export async function signText(
  content: Uint8Array,
  header: Readonly<Record<string, string>>,
  privateKey: KeyObject,
): Promise<string> {
  return new CompactSign(content).setProtectedHeader({ ...header, alg: "EdDSA" }).sign(privateKey);
}

export type VerifiedText =
  | { readonly kind: "signed"; readonly content: Uint8Array; readonly header: CompactJWSHeaderParameters }
  | { readonly kind: "not-signed-text" }
  | { readonly kind: "another-signature" };

/** Any algorithm but EdDSA, `none` above all, counts as another signature. */
export async function verifyText(text: string, publicKey: KeyObject): Promise<VerifiedText> {
  try {
    const { payload, protectedHeader } = await compactVerify(text, publicKey, { algorithms: ["EdDSA"] });
    return { kind: "signed", content: payload, header: protectedHeader };
  } catch (error) {
    if (error instanceof errors.JWSInvalid) return { kind: "not-signed-text" };
    if (error instanceof errors.JOSEError) return { kind: "another-signature" };
    throw error;
  }
}
