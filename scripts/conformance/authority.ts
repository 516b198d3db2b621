import "reflect-metadata";
import { randomBytes, webcrypto } from "node:crypto";
import { isIP } from "node:net";
import {
  BasicConstraintsExtension,
  cryptoProvider,
  type Extension,
  KeyUsageFlags,
  KeyUsagesExtension,
  type PublicKeyType,
  SubjectAlternativeNameExtension,
  X509CertificateGenerator,
} from "@peculiar/x509";
import { algorithm, makeKeys, privateKeyPem } from "./keys.ts";

cryptoProvider.set(webcrypto);

const day = 86_400_000;

/** Positive, and of 16 bytes (RFC 5280 4.1.2.2). */
const serialNumber = (): string => `5${randomBytes(16).toString("hex").slice(1)}`;

interface Signing {
  readonly commonName: string;
  readonly publicKey: PublicKeyType;
  readonly days: number;
  readonly extensions: Extension[];
}

export interface Certified {
  /** PKCS#8, PEM. */
  readonly key: string;
  /** PEM. */
  readonly certificate: string;
}

/** A certificate authority of the runner's own, that lives as long as the run. */
export class RunAuthority {
  readonly #keys: webcrypto.CryptoKeyPair;
  readonly pem: string;

  private constructor(keys: webcrypto.CryptoKeyPair, pem: string) {
    this.#keys = keys;
    this.pem = pem;
  }

  static async make(): Promise<RunAuthority> {
    const keys = await makeKeys();
    const pem = await sign(keys.privateKey, {
      commonName: name,
      publicKey: keys.publicKey,
      days: 400,
      extensions: [
        new BasicConstraintsExtension(true, 0, true),
        new KeyUsagesExtension(KeyUsageFlags.keyCertSign | KeyUsageFlags.cRLSign, true),
      ],
    });
    return new RunAuthority(keys, pem);
  }

  /** What the broker shows. */
  async broker(host: string, alsoLocal = true): Promise<Certified> {
    const keys = await makeKeys();
    const hosts = [...new Set([host, ...(alsoLocal ? ["localhost", "127.0.0.1"] : [])])];
    const names = hosts.map((each) => ({ type: isIP(each) === 0 ? "dns" : "ip", value: each }) as const);
    const certificate = await sign(this.#keys.privateKey, {
      commonName: host,
      publicKey: keys.publicKey,
      days: 400,
      extensions: [new SubjectAlternativeNameExtension(names)],
    });
    return { key: await privateKeyPem(keys), certificate };
  }

  /** @returns PEM */
  unit(serial: string, publicKey: PublicKeyType, days = 400): Promise<string> {
    return sign(this.#keys.privateKey, { commonName: serial, publicKey, days, extensions: [] });
  }
}

const name = "conformance run";

async function sign(signingKey: webcrypto.CryptoKey, signing: Signing): Promise<string> {
  const certificate = await X509CertificateGenerator.create({
    serialNumber: serialNumber(),
    subject: [{ CN: [signing.commonName] }],
    issuer: [{ CN: [name] }],
    notBefore: new Date(Date.now() - day),
    notAfter: new Date(Date.now() + signing.days * day),
    publicKey: signing.publicKey,
    signingKey,
    signingAlgorithm: algorithm,
    extensions: signing.extensions,
  });
  return `${certificate.toString("pem")}\n`;
}

/** A certificate that names this unit and that anybody can make. */
export async function selfSigned(serial: string): Promise<Certified> {
  const keys = await makeKeys();
  const authority = await RunAuthority.make();
  return { key: await privateKeyPem(keys), certificate: await authority.unit(serial, keys.publicKey) };
}
