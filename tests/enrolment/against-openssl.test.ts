import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, test } from "vitest";
import { millisecondsIn } from "../../server/domain/units.ts";
import { authorityFolder } from "../../server/enrolment/authority.ts";
import { currentRevocationList } from "../../server/enrolment/current-revocation-list.ts";
import { currentCertificateOf, revokeCertificatesOfLoan } from "../../server/store/certificates.ts";
import { things } from "../support/cast.ts";
import { openssl, opensslFailure, opensslIsHere } from "./openssl.ts";
import { claim, issue, newSetting, type Setting } from "./setting.ts";

// Checked by the openssl command (3.x), which shares no code with the library that makes requests and certificates.

let setting: Setting;
let at: (name: string) => string;
beforeEach(async () => {
  setting = await newSetting();
  at = (name) => join(setting.services.dataFolder, name);
});
afterEach(() => setting.services.close());

/** A key and a request as a unit's own firmware might make them. @returns the PEM of the request */
function opensslRequest(unit: string, key: readonly string[]): string {
  const subject = ["-subj", `/CN=${unit}`, "-keyout", at("unit.key"), "-out", at("unit.csr")];
  openssl("req", "-new", ...key, "-nodes", ...subject);
  return readFileSync(at("unit.csr"), "utf8");
}

async function enrolWith(certificateRequest: string): Promise<void> {
  const outcome = await claim(setting, (await issue(setting)).jws, { certificateRequest });
  if (outcome.kind === "refused") throw new Error(outcome.reason);
  const [unit = "", root = ""] = outcome.answer.certificateChain.split(/(?<=-----END CERTIFICATE-----\n)/);
  writeFileSync(at("unit.pem"), unit);
  writeFileSync(at("root.pem"), root);
}

const verify = (...more: readonly string[]): readonly string[] => {
  const nowSeconds = Math.floor(setting.services.clock.now() / millisecondsIn.second);
  return ["verify", "-x509_strict", "-attime", String(nowSeconds), "-CAfile", at("root.pem"), ...more];
};

const ecKey = ["-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:P-256"];

describe.skipIf(!opensslIsHere)("to the openssl command", () => {
  test.each([
    { kind: "P-256", key: ecKey },
    { kind: "Ed25519", key: ["-newkey", "ed25519"] },
  ])(
    "a certificate for its own $kind request leads to the root, as a client and not as a server",
    async ({ key }) => {
      await enrolWith(opensslRequest(things.lentUnit, key));
      expect(openssl(...verify("-purpose", "sslclient", at("unit.pem")))).toContain(": OK");
      expect(opensslFailure(...verify("-purpose", "sslserver", at("unit.pem")))).toMatch(/purpose/);
      const purposes = openssl("x509", "-in", at("unit.pem"), "-noout", "-purpose");
      expect(purposes).toMatch(/^SSL client : Yes$/m);
      expect(purposes).toMatch(/^SSL server : No$/m);
      expect(purposes).toMatch(/^SSL client CA : No$/m);
      const ownKey = openssl("pkey", "-in", at("unit.key"), "-pubout");
      expect(openssl("x509", "-in", at("unit.pem"), "-noout", "-pubkey")).toBe(ownKey);
    },
  );

  test("a unit's certificate names its serial, runs 400 days and began five minutes ago", async () => {
    await enrolWith(opensslRequest(things.lentUnit, ecKey));
    const text = openssl(
      "x509",
      "-in",
      at("unit.pem"),
      "-noout",
      "-subject",
      "-serial",
      "-dates",
      "-ext",
      "keyUsage",
    );
    expect(text).toMatch(/^subject=CN = CU-000101$/m);
    // Sunday 3 May 2026, 09:00 in London is 08:00 GMT; 400 days on is 7 June 2027.
    expect(text).toContain("notBefore=May  3 07:55:00 2026 GMT");
    expect(text).toContain("notAfter=Jun  7 08:00:00 2027 GMT");
    expect(text).toMatch(/X509v3 Key Usage: critical\s+Digital Signature\s*$/m);
    const serial = /^serial=([0-9A-F]+)$/m.exec(text)?.[1]?.toLowerCase();
    expect(serial).toBe(currentCertificateOf(setting.services.db, things.lentUnit)?.serial);
    expect(serial).toMatch(/^[4-7][0-9a-f]{31}$/);
  });

  test("the root may sign certificates and lists, and no authority below it", async () => {
    writeFileSync(at("root.pem"), setting.enrolment.authority.rootPem);
    expect(openssl(...verify("-check_ss_sig", at("root.pem")))).toContain(": OK");
    const text = openssl("x509", "-in", at("root.pem"), "-noout", "-text");
    expect(text).toMatch(/Basic Constraints: critical\s+CA:TRUE, pathlen:0/);
    expect(text).toMatch(/Key Usage: critical\s+Certificate Sign, CRL Sign/);
    expect(text).toContain("X509v3 Subject Key Identifier");
    expect(text).toContain("X509v3 Authority Key Identifier");
    expect(text).toContain("ASN1 OID: prime256v1");
  });

  test("the broker's certificate holds for its host, localhost and 127.0.0.1, and for no other", async () => {
    writeFileSync(at("root.pem"), setting.enrolment.authority.rootPem);
    const broker = join(authorityFolder(setting.services.dataFolder), "broker.pem");
    const asServer = (...words: readonly string[]) => verify("-purpose", "sslserver", ...words, broker);
    expect(openssl(...asServer("-verify_hostname", "broker.example"))).toContain(": OK");
    expect(openssl(...asServer("-verify_hostname", "localhost"))).toContain(": OK");
    expect(openssl(...asServer("-verify_ip", "127.0.0.1"))).toContain(": OK");
    expect(opensslFailure(...asServer("-verify_hostname", "other.example"))).toMatch(/hostname mismatch/i);
    expect(opensslFailure(...verify("-purpose", "sslclient", broker))).toMatch(/purpose/);
  });

  test("the revocation list holds a unit taken back, and no other, and is the root's", async () => {
    const { services, enrolment } = setting;
    await enrolWith(opensslRequest(things.lentUnit, ecKey));
    const list = async () =>
      writeFileSync(at("revoked.crl"), await currentRevocationList(services, enrolment));
    await list();
    const checked = verify("-crl_check", "-CRLfile", at("revoked.crl"), at("unit.pem"));
    expect(openssl("crl", "-in", at("revoked.crl"), "-noout", "-text")).toContain("No Revoked Certificates");
    expect(openssl(...checked)).toContain(": OK");

    const [serial] = revokeCertificatesOfLoan(services.db, things.loan, services.clock.now(), "loan-ended");
    await list();
    expect(openssl("crl", "-in", at("revoked.crl"), "-noout", "-CAfile", at("root.pem"))).toContain(
      "verify OK",
    );
    const text = openssl("crl", "-in", at("revoked.crl"), "-noout", "-text");
    expect(text).toContain(`Serial Number: ${serial?.toUpperCase()}`);
    expect(text).toContain("Cessation Of Operation");
    expect(text).toMatch(/X509v3 CRL Number:\s+\d+/);
    expect(opensslFailure(...checked)).toMatch(/certificate revoked/);
  });
});
