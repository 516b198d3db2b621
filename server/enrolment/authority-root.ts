import "reflect-metadata";
import type { webcrypto } from "node:crypto";
import { existsSync, readdirSync, renameSync, rmSync } from "node:fs";
import { dirname, join } from "node:path";
import {
  AuthorityKeyIdentifierExtension,
  BasicConstraintsExtension,
  KeyUsageFlags,
  KeyUsagesExtension,
  SubjectKeyIdentifierExtension,
  X509Certificate,
  X509CertificateGenerator,
} from "@peculiar/x509";
import type { Chance } from "../chance.ts";
import type { Instant } from "../domain/units.ts";
import { days, instantOf, validityFrom } from "./certificate-times.ts";
import {
  belongsTogether,
  makeKeyPair,
  privateKeyFrom,
  privateKeyPem,
  readKeyPair,
  signingAlgorithm,
} from "./key-pairs.ts";
import {
  assertOwnerOnly,
  KeyFileProblem,
  makeSecretFolder,
  readSecretFile,
  syncFolder,
  writeSecretFile,
} from "./secret-files.ts";
import { newSerialNumber } from "./serial-number.ts";

/** The programme's own root: every unit and the broker itself are certified by it and by nothing else. */
export interface AuthorityRoot {
  readonly certificate: X509Certificate;
  readonly keys: webcrypto.CryptoKeyPair;
  /** PEM. */
  readonly pem: string;
}

/** A root can't be replaced without enrolling every unit again, so it outlives the cushions. Assumption. */
const rootLifetime = days(20 * 365);

const keyFile = "root.key.pem";
const certificateFile = "root.pem";

/** Opens the root in `folder`, or makes it when the folder is missing or empty.
 *  @throws KeyFileProblem when what is there is open to others, unreadable or incomplete: a second root is never made
 *  beside an earlier one, because every unit in the field would then be refused */
export async function openRoot(folder: string, now: Instant, chance: Chance): Promise<AuthorityRoot> {
  if (!existsSync(folder) || readdirSync(folder).length === 0) await makeRoot(folder, now, chance);
  assertOwnerOnly(folder);
  const keyPath = join(folder, keyFile);
  const certificatePath = join(folder, certificateFile);
  const keyText = readSecretFile(keyPath);
  const privateKey = privateKeyFrom(keyText);
  const keys = await readKeyPair(keyText);
  if (privateKey === null || keys === null) {
    throw new KeyFileProblem(`${keyPath} holds no P-256 private key. ${restoreAdvice}`);
  }
  const pem = readSecretFile(certificatePath);
  const certificate = readCertificate(pem, certificatePath);
  if (!belongsTogether(certificate.publicKey.rawData, privateKey)) {
    throw new KeyFileProblem(`${certificatePath} was not made for the key in ${keyPath}. ${restoreAdvice}`);
  }
  if (instantOf(certificate.notAfter) <= now) {
    throw new KeyFileProblem(`The programme's authority in ${certificatePath} has run out.`);
  }
  return { certificate, keys, pem };
}

const restoreAdvice =
  "Restore the whole folder from a backup. Moving it away makes a new authority at the next start, and every unit must then be enrolled again.";

function readCertificate(pem: string, path: string): X509Certificate {
  try {
    return new X509Certificate(pem);
  } catch {
    throw new KeyFileProblem(`${path} holds no certificate. ${restoreAdvice}`);
  }
}

/** Key and certificate appear together, by one rename of the folder that holds both. */
async function makeRoot(folder: string, now: Instant, chance: Chance): Promise<void> {
  const unfinished = `${folder}.unfinished`;
  rmSync(unfinished, { recursive: true, force: true });
  makeSecretFolder(unfinished);
  const keys = await makeKeyPair();
  const certificate = await signRoot(keys, now, chance);
  writeSecretFile(join(unfinished, keyFile), await privateKeyPem(keys.privateKey));
  writeSecretFile(join(unfinished, certificateFile), `${certificate.toString("pem")}\n`);
  renameSync(unfinished, folder);
  syncFolder(dirname(folder));
}

async function signRoot(
  keys: webcrypto.CryptoKeyPair,
  now: Instant,
  chance: Chance,
): Promise<X509Certificate> {
  const keyIdentifier = await SubjectKeyIdentifierExtension.create(keys.publicKey);
  // The name carries the key's identifier: roots of two programmes, or an old and a new one, are never confused.
  const name = `CN=Cushionry programme ${keyIdentifier.keyId.slice(0, 12)}`;
  return X509CertificateGenerator.create({
    serialNumber: newSerialNumber(chance),
    subject: name,
    issuer: name,
    ...validityFrom(now, rootLifetime),
    signingAlgorithm,
    publicKey: keys.publicKey,
    signingKey: keys.privateKey,
    extensions: [
      new BasicConstraintsExtension(true, 0, true),
      new KeyUsagesExtension(KeyUsageFlags.keyCertSign | KeyUsageFlags.cRLSign, true),
      keyIdentifier,
      await AuthorityKeyIdentifierExtension.create(keys.publicKey),
    ],
  });
}
