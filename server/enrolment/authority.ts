import { join } from "node:path";
import { type Chance, systemChance } from "../chance.ts";
import type { Clock } from "../clock.ts";
import type { Hours } from "../domain/units.ts";
import type { RevokedCertificate } from "../store/certificates.ts";
import { openRoot } from "./authority-root.ts";
import type { VerifiedRequest } from "./certificate-request.ts";
import { instantOf } from "./certificate-times.ts";
import { signRevocationList } from "./revocation-list.ts";
import { type IdentityWanted, openServiceIdentity, type ServiceIdentity } from "./service-certificate.ts";
import { type IssuedCertificate, signUnitCertificate, unitCertificateLifetime } from "./unit-certificate.ts";

/** The programme's own certificate authority (RFC 5280). Its folder is all there is of it. */
export interface Authority {
  /** What every certificate of the programme leads to, PEM. */
  readonly rootPem: string;
  /** Tells this authority from any other; stays as long as the root does. */
  readonly keyIdentifier: string;
  /** What the broker shows to units, PEM. */
  readonly broker: { readonly key: string; readonly certificate: string };
  /** What this service shows to a broker that stands in front, PEM. */
  readonly console: { readonly key: string; readonly certificate: string };
  /** Makes those two anew where they run out within 60 days. @returns whether either is another now */
  renewServices(): Promise<boolean>;
  issue(request: VerifiedRequest, lifetime?: Hours): Promise<IssuedCertificate>;
  /** The certificate revocation list, PEM. */
  crl(revoked: readonly RevokedCertificate[]): Promise<string>;
  /** For readiness: root and broker certificate are both within their time. */
  usable(): boolean;
}

export interface AuthorityOptions {
  readonly dataFolder: string;
  readonly clock: Clock;
  /** Names and addresses by which units reach the broker; localhost and 127.0.0.1 are always added. */
  readonly brokerHosts: readonly string[];
  readonly chance?: Chance;
}

/** The user name by which a broker in front knows this service. */
export const consoleName = "console";

export const authorityFolder = (dataFolder: string): string => join(dataFolder, "authority");

/** Opens the authority of a data folder, and makes it on the first start.
 *  @throws KeyFileProblem with a sentence for the person who starts the service */
export async function openAuthority(options: AuthorityOptions): Promise<Authority> {
  const { clock } = options;
  const chance = options.chance ?? systemChance;
  const folder = authorityFolder(options.dataFolder);
  const root = await openRoot(folder, clock.now(), chance);
  const hosts = [...new Set([...options.brokerHosts, "localhost", "127.0.0.1"])];
  const open = (wanted: IdentityWanted) => openServiceIdentity(folder, root, wanted, clock.now(), chance);
  const openBoth = async () => ({
    broker: await open({ part: "broker", commonName: hosts[0] ?? "localhost", hosts }),
    console: await open({ part: "console", commonName: consoleName, hosts: [] }),
  });
  let services = await openBoth();
  const keyIdentifier = Buffer.from(await root.certificate.publicKey.getKeyIdentifier()).toString("hex");
  return {
    rootPem: root.pem,
    keyIdentifier,
    get broker() {
      return shown(services.broker);
    },
    get console() {
      return shown(services.console);
    },
    renewServices: async () => {
      const before = services;
      services = await openBoth();
      return (["broker", "console"] as const).some(
        (part) => services[part].certificate !== before[part].certificate,
      );
    },
    issue: (request, lifetime = unitCertificateLifetime) =>
      signUnitCertificate(root, request, { now: clock.now(), lifetime, chance }),
    crl: (revoked) => signRevocationList(root, revoked, clock.now()),
    usable: () =>
      clock.now() <
      Math.min(instantOf(root.certificate.notAfter), services.broker.expiresAt, services.console.expiresAt),
  };
}

const shown = ({ key, certificate }: ServiceIdentity) => ({ key, certificate });
