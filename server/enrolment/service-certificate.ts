import "reflect-metadata";
import { existsSync } from "node:fs";
import { isIP } from "node:net";
import { join } from "node:path";
import {
  AuthorityKeyIdentifierExtension,
  BasicConstraintsExtension,
  ExtendedKeyUsage,
  ExtendedKeyUsageExtension,
  type JsonGeneralName,
  KeyUsageFlags,
  KeyUsagesExtension,
  SubjectAlternativeNameExtension,
  SubjectKeyIdentifierExtension,
  X509Certificate,
  X509CertificateGenerator,
} from "@peculiar/x509";
import type { Chance } from "../chance.ts";
import { after, type Instant, milliseconds, millisecondsIn } from "../domain/units.ts";
import type { AuthorityRoot } from "./authority-root.ts";
import { days, instantOf, validityFrom } from "./certificate-times.ts";
import {
  belongsTogether,
  makeKeyPair,
  privateKeyFrom,
  privateKeyPem,
  signingAlgorithm,
} from "./key-pairs.ts";
import { readSecretFile, writeSecretFile } from "./secret-files.ts";
import { newSerialNumber } from "./serial-number.ts";

/** What a part of the service shows to its peers, PEM. */
export interface ServiceIdentity {
  readonly key: string;
  readonly certificate: string;
  readonly expiresAt: Instant;
}

export interface IdentityWanted {
  /** Of its files, and of what it is there for. `broker`: shown to units, by ours or by one in front. `console`: shown
   *  to a broker in front. No unit can have either name: a serial has no small letters. */
  readonly part: "broker" | "console";
  readonly commonName: string;
  /** Names and addresses by which it is reached. */
  readonly hosts: readonly string[];
}

const lifetime = days(400);
const renewBefore = milliseconds(days(60) * millisecondsIn.hour);
const usage = { broker: ExtendedKeyUsage.serverAuth, console: ExtendedKeyUsage.clientAuth } as const;

/** Opens a part's key and certificate, or makes them anew: the first time, when they run out within 60 days, when the
 *  hosts have changed, or when the two files don't belong together (a crash between writing them).
 *  @throws KeyFileProblem when a file that is there is open to others */
export async function openServiceIdentity(
  folder: string,
  root: AuthorityRoot,
  wanted: IdentityWanted,
  now: Instant,
  chance: Chance,
): Promise<ServiceIdentity> {
  const kept = await keptIdentity(folder, root, wanted, now);
  if (kept !== null) return kept;
  const keys = await makeKeyPair();
  const names = wanted.hosts.map(asAlternativeName);
  const certificate = await X509CertificateGenerator.create({
    serialNumber: newSerialNumber(chance),
    subject: [{ CN: [wanted.commonName] }],
    issuer: root.certificate.subjectName,
    ...validityFrom(now, lifetime),
    signingAlgorithm,
    publicKey: keys.publicKey,
    signingKey: root.keys.privateKey,
    extensions: [
      new BasicConstraintsExtension(false, undefined, true),
      new KeyUsagesExtension(KeyUsageFlags.digitalSignature, true),
      new ExtendedKeyUsageExtension([usage[wanted.part]]),
      ...(names.length === 0 ? [] : [new SubjectAlternativeNameExtension(names)]),
      await SubjectKeyIdentifierExtension.create(keys.publicKey),
      await AuthorityKeyIdentifierExtension.create(root.keys.publicKey),
    ],
  });
  const key = await privateKeyPem(keys.privateKey);
  const pem = `${certificate.toString("pem")}\n`;
  const { keyPath, certificatePath } = pathsOf(folder, wanted);
  writeSecretFile(keyPath, key);
  writeSecretFile(certificatePath, pem);
  return { key, certificate: pem, expiresAt: instantOf(certificate.notAfter) };
}

const pathsOf = (folder: string, { part }: IdentityWanted) => ({
  keyPath: join(folder, `${part}.key.pem`),
  certificatePath: join(folder, `${part}.pem`),
});

/** RFC 5280 4.2.1.6: an address goes into `iPAddress`, or no TLS library will match it. */
const asAlternativeName = (host: string): JsonGeneralName => ({
  type: isIP(host) === 0 ? "dns" : "ip",
  value: host,
});

async function keptIdentity(
  folder: string,
  root: AuthorityRoot,
  wanted: IdentityWanted,
  now: Instant,
): Promise<ServiceIdentity | null> {
  const { keyPath, certificatePath } = pathsOf(folder, wanted);
  if (!existsSync(keyPath) || !existsSync(certificatePath)) return null;
  const key = readSecretFile(keyPath);
  const pem = readSecretFile(certificatePath);
  const privateKey = privateKeyFrom(key);
  const certificate = certificateFrom(pem);
  if (privateKey === null || certificate === null) return null;
  if (!belongsTogether(certificate.publicKey.rawData, privateKey)) return null;
  if (!(await certificate.verify({ publicKey: root.keys.publicKey, signatureOnly: true }))) return null;
  const expiresAt = instantOf(certificate.notAfter);
  if (expiresAt < after(now, renewBefore) || instantOf(certificate.notBefore) > now) return null;
  return sameNames(certificate, wanted.hosts) ? { key, certificate: pem, expiresAt } : null;
}

function certificateFrom(pem: string): X509Certificate | null {
  try {
    return new X509Certificate(pem);
  } catch {
    return null;
  }
}

function sameNames(certificate: X509Certificate, names: readonly string[]): boolean {
  const extension = certificate.getExtension(SubjectAlternativeNameExtension);
  const held = new Set(extension?.names.items.map((name) => name.value));
  return held.size === names.length && names.every((name) => held.has(name));
}
