import { createSecretKey, generateKeyPairSync } from "node:crypto";
import { join } from "node:path";
import type { Services } from "../services.ts";
import { type Authority, authorityFolder, openAuthority } from "./authority.ts";
import { privateKeyFrom } from "./key-pairs.ts";
import { type PairingKey, pairingKeyFrom } from "./pairing-token.ts";
import { KeyFileProblem, readOrMakeSecretFile } from "./secret-files.ts";

/** Everything that admits a unit: who certifies it, what signs its code, and where it is sent afterwards. */
export interface Enrolment {
  readonly authority: Authority;
  /** `iss` of every pairing code. */
  readonly issuer: string;
  readonly pairingKey: PairingKey;
  readonly typedKey: Uint8Array;
  readonly broker: { readonly host: string; readonly port: number };
}

export interface EnrolmentOptions {
  readonly dataFolder: string;
  /** What an enrolled unit is told to connect to. */
  readonly broker: { readonly host: string; readonly port: number };
  /** Further names and addresses of the broker. */
  readonly brokerHosts?: readonly string[];
}

const typedKeyOctets = 32;

/** Opens the authority and the keys of pairing codes; makes them on the first start.
 *  @throws KeyFileProblem with a sentence for the person who starts the service */
export async function openEnrolment(
  services: Pick<Services, "clock" | "chance">,
  options: EnrolmentOptions,
): Promise<Enrolment> {
  const authority = await openAuthority({
    dataFolder: options.dataFolder,
    clock: services.clock,
    chance: services.chance,
    brokerHosts: [options.broker.host, ...(options.brokerHosts ?? [])],
  });
  const folder = authorityFolder(options.dataFolder);
  return {
    authority,
    issuer: `programme-${authority.keyIdentifier.slice(0, 12)}`,
    pairingKey: await openPairingKey(join(folder, "pairing.key.pem")),
    typedKey: openTypedKey(join(folder, "typed-code.key"), services),
    broker: options.broker,
  };
}

async function openPairingKey(path: string): Promise<PairingKey> {
  const pem = readOrMakeSecretFile(path, () =>
    generateKeyPairSync("ed25519").privateKey.export({ format: "pem", type: "pkcs8" }).toString(),
  );
  const key = privateKeyFrom(pem);
  if (key?.asymmetricKeyType !== "ed25519") {
    throw new KeyFileProblem(
      `${path} holds no Ed25519 private key. Restore it from a backup, or remove it: a new one is made at the next ` +
        "start, and pairing codes not yet used must then be issued again.",
    );
  }
  return pairingKeyFrom(key);
}

function openTypedKey(path: string, services: Pick<Services, "chance">): Uint8Array {
  const text = readOrMakeSecretFile(
    path,
    () => `${Buffer.from(services.chance.bytes(typedKeyOctets)).toString("hex")}\n`,
  ).trim();
  if (!/^[0-9a-f]{64}$/.test(text)) {
    throw new KeyFileProblem(
      `${path} should hold 64 hexadecimal digits. Restore it from a backup, or remove it: a new one is made at the ` +
        "next start, and pairing codes not yet used must then be issued again.",
    );
  }
  return new Uint8Array(createSecretKey(text, "hex").export());
}
