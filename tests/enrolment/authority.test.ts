import { X509Certificate } from "node:crypto";
import { chmodSync, copyFileSync, readdirSync, renameSync, rmSync, statSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, test } from "vitest";
import { authorityFolder, openAuthority } from "../../server/enrolment/authority.ts";
import { KeyFileProblem } from "../../server/enrolment/secret-files.ts";
import { type TestServices, testServices } from "../support/cast.ts";
import { claim, issue, newSetting, outcomeOf, reopen } from "./setting.ts";

let services: TestServices;
let folder: string;
beforeEach(() => {
  services = testServices();
  folder = authorityFolder(services.dataFolder);
});
afterEach(() => services.close());

const modeOf = (path: string): string => (statSync(path).mode & 0o777).toString(8);
const day = 86_400_000;

describe("the authority's folder", () => {
  test("is made on the first start, and nobody else on the machine can read it", async () => {
    await reopen(services);
    expect(modeOf(folder)).toBe("700");
    const files = readdirSync(folder).sort();
    expect(files).toEqual([
      "broker.key.pem",
      "broker.pem",
      "console.key.pem",
      "console.pem",
      "pairing.key.pem",
      "root.key.pem",
      "root.pem",
      "typed-code.key",
    ]);
    for (const file of files) expect(modeOf(join(folder, file)), file).toBe("600");
  });

  test("is the same after a restart, and a code issued before it still works", async () => {
    const setting = await newSetting();
    const code = await issue(setting);
    const again = await reopen(setting.services);
    expect(again.authority.rootPem).toBe(setting.enrolment.authority.rootPem);
    expect(again.authority.broker).toEqual(setting.enrolment.authority.broker);
    const restarted = { services: setting.services, enrolment: again };
    expect(await outcomeOf(claim(restarted, code.typed))).toBe("accepted");
    setting.services.close();
  });

  test("left half made by a crash is made again", async () => {
    await reopen(services);
    renameSync(folder, `${folder}.unfinished`);
    rmSync(join(`${folder}.unfinished`, "root.pem"));
    expect((await reopen(services)).authority.usable()).toBe(true);
    expect(readdirSync(services.dataFolder)).not.toContain("authority.unfinished");
  });

  test.each(["root.key.pem", "pairing.key.pem", "typed-code.key", "broker.key.pem"])(
    "stops the start when others can read %s, and says how to close it",
    async (file) => {
      await reopen(services);
      chmodSync(join(folder, file), 0o640);
      await expect(reopen(services)).rejects.toThrow(KeyFileProblem);
      await expect(reopen(services)).rejects.toThrow(`chmod 600 ${join(folder, file)}`);
      chmodSync(join(folder, file), 0o600);
      await reopen(services);
    },
  );

  test("stops the start when the folder itself is open to others", async () => {
    await reopen(services);
    chmodSync(folder, 0o755);
    await expect(reopen(services)).rejects.toThrow(`chmod 700 ${folder}`);
  });

  test.each([
    {
      what: "the root's key is missing",
      spoil: () => rmSync(join(folder, "root.key.pem")),
      words: /can't be read/,
    },
    { what: "the root is missing", spoil: () => rmSync(join(folder, "root.pem")), words: /can't be read/ },
    {
      what: "the root's key is spoilt",
      spoil: () => writeFileSync(join(folder, "root.key.pem"), "spoilt"),
      words: /no P-256 private key.*backup/,
    },
    {
      what: "the root's key is another's",
      spoil: () => copyFileSync(join(folder, "broker.key.pem"), join(folder, "root.key.pem")),
      words: /not made for the key/,
    },
    {
      what: "the root is no certificate",
      spoil: () => writeFileSync(join(folder, "root.pem"), "spoilt"),
      words: /no certificate/,
    },
    {
      what: "the pairing key is of another kind",
      spoil: () => copyFileSync(join(folder, "root.key.pem"), join(folder, "pairing.key.pem")),
      words: /no Ed25519 private key/,
    },
    {
      what: "the key of typed codes is spoilt",
      spoil: () => writeFileSync(join(folder, "typed-code.key"), "spoilt"),
      words: /64 hexadecimal digits/,
    },
  ])("stops the start when $what, and makes nothing anew", async ({ spoil, words }) => {
    await reopen(services);
    spoil();
    const before = readdirSync(folder);
    await expect(reopen(services)).rejects.toThrow(words);
    await expect(reopen(services)).rejects.toThrow(KeyFileProblem);
    expect(readdirSync(folder)).toEqual(before);
  });
});

describe("the broker's certificate", () => {
  const open = (brokerHosts: readonly string[] = ["broker.example"]) =>
    openAuthority({ dataFolder: services.dataFolder, clock: services.clock, brokerHosts });

  test("is kept while it has more than 60 days to run, then made anew from the same root", async () => {
    const first = await open();
    services.clock.move(339 * day);
    expect((await open()).broker).toEqual(first.broker);
    services.clock.move(2 * day);
    const renewed = await open();
    expect(renewed.broker.certificate).not.toBe(first.broker.certificate);
    expect(renewed.rootPem).toBe(first.rootPem);
    const root = new X509Certificate(renewed.rootPem);
    expect(new X509Certificate(renewed.broker.certificate).verify(root.publicKey)).toBe(true);
  });

  test("is made anew when the broker gets another name, with an address as an address", async () => {
    await open();
    const renewed = await open(["192.0.2.10", "2001:db8::10", "mqtt.example"]);
    const names = new X509Certificate(renewed.broker.certificate).subjectAltName;
    expect(names).toBe(
      "IP Address:192.0.2.10, IP Address:2001:DB8:0:0:0:0:0:10, DNS:mqtt.example, DNS:localhost, IP Address:127.0.0.1",
    );
    expect((await open(["192.0.2.10", "2001:db8::10", "mqtt.example"])).broker).toEqual(renewed.broker);
  });

  test("is made anew when key and certificate don't belong together", async () => {
    const first = await open();
    copyFileSync(join(folder, "root.key.pem"), join(folder, "broker.key.pem"));
    expect((await open()).broker.key).not.toBe(first.broker.key);
  });

  test("that has run out makes the authority unusable until the next start", async () => {
    const authority = await open();
    expect(authority.usable()).toBe(true);
    services.clock.move(400 * day);
    expect(authority.usable()).toBe(false);
    expect((await open()).usable()).toBe(true);
  });
});
