import "reflect-metadata";
import { createPrivateKey, createPublicKey, type KeyObject, webcrypto } from "node:crypto";
import { cryptoProvider } from "@peculiar/x509";
import { asPem } from "./pem.ts";

cryptoProvider.set(webcrypto);

/** One algorithm for everything the authority signs: NIST P-256 with SHA-256, which every broker and TLS library
 *  in the field can check. */
export const signingAlgorithm = { name: "ECDSA", namedCurve: "P-256", hash: "SHA-256" } as const;

export async function makeKeyPair(): Promise<webcrypto.CryptoKeyPair> {
  return webcrypto.subtle.generateKey(signingAlgorithm, true, ["sign", "verify"]);
}

/** PKCS#8, PEM. */
export async function privateKeyPem(key: webcrypto.CryptoKey): Promise<string> {
  return asPem("PRIVATE KEY", await webcrypto.subtle.exportKey("pkcs8", key));
}

/** @returns null when the text is no P-256 private key */
export async function readKeyPair(pem: string): Promise<webcrypto.CryptoKeyPair | null> {
  const privateKey = privateKeyFrom(pem);
  if (privateKey?.asymmetricKeyDetails?.namedCurve !== "prime256v1") return null;
  const publicKey = createPublicKey(privateKey);
  return {
    privateKey: await webcrypto.subtle.importKey(
      "pkcs8",
      privateKey.export({ format: "der", type: "pkcs8" }),
      signingAlgorithm,
      false,
      ["sign"],
    ),
    publicKey: await webcrypto.subtle.importKey(
      "spki",
      publicKey.export({ format: "der", type: "spki" }),
      signingAlgorithm,
      true,
      ["verify"],
    ),
  };
}

/** @returns null when the text is no private key at all */
export function privateKeyFrom(pem: string): KeyObject | null {
  try {
    return createPrivateKey(pem);
  } catch {
    return null;
  }
}

/** Whether the certificate was made for this key. */
export function belongsTogether(certificatePublicKey: ArrayBuffer, privateKey: KeyObject): boolean {
  const own = createPublicKey(privateKey).export({ format: "der", type: "spki" });
  return Buffer.from(certificatePublicKey).equals(own);
}
