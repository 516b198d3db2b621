import "reflect-metadata";
import { webcrypto } from "node:crypto";
import { PemConverter, Pkcs10CertificateRequestGenerator } from "@peculiar/x509";

export const algorithm = { name: "ECDSA", namedCurve: "P-256", hash: "SHA-256" } as const;

export const makeKeys = (): Promise<webcrypto.CryptoKeyPair> =>
  webcrypto.subtle.generateKey(algorithm, true, ["sign", "verify"]);

/** PKCS#8, PEM. */
export const privateKeyPem = async ({ privateKey }: webcrypto.CryptoKeyPair): Promise<string> =>
  PemConverter.encode(await webcrypto.subtle.exportKey("pkcs8", privateKey), "PRIVATE KEY");

export interface RequestFor {
  readonly key: string;
  /** PKCS#10, DER. */
  readonly der: Uint8Array;
  readonly pem: string;
}

/** A new key, and a request for this common name that is signed with it. */
export async function requestFor(commonName: string): Promise<RequestFor> {
  const keys = await makeKeys();
  const request = await Pkcs10CertificateRequestGenerator.create({
    name: [{ CN: [commonName] }],
    keys,
    signingAlgorithm: algorithm,
  });
  return {
    key: await privateKeyPem(keys),
    der: new Uint8Array(request.rawData),
    pem: request.toString("pem"),
  };
}

/** The same bytes with the last one of the signature changed. */
export function withBrokenSignature({ der }: RequestFor): Uint8Array {
  const broken = Uint8Array.from(der);
  const last = broken.length - 1;
  broken[last] = (broken[last] ?? 0) ^ 1;
  return broken;
}
