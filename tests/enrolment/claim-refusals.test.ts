import { afterEach, beforeEach, describe, expect, test } from "vitest";
import { typedCodeFrom } from "../../server/domain/enrolment/typed-code.ts";
import { instant, millisecondsIn } from "../../server/domain/units.ts";
import { withdrawPairingCode } from "../../server/enrolment/withdraw-pairing-code.ts";
import { endLoan } from "../../server/programme/end-loan.ts";
import { firstBrokenAuditRow } from "../../server/store/audit.ts";
import { pairingCodesOfLoan } from "../../server/store/pairing-codes.ts";
import { certificate } from "../../server/store/schema/enrolment.ts";
import { loan } from "../../server/store/schema/loans.ts";
import { cast, things } from "../support/cast.ts";
import {
  auditRows,
  claim,
  issue,
  newKeys,
  newSetting,
  outcomeOf,
  requestFor,
  type Setting,
} from "./setting.ts";

let setting: Setting;
beforeEach(async () => {
  setting = await newSetting();
});
afterEach(() => setting.services.close());

const certificates = () => setting.services.db.select().from(certificate).all();

describe("a claim is refused, with its own reason and an audit row that doesn't hold the code,", () => {
  test("when the code was withdrawn", async () => {
    const code = await issue(setting);
    withdrawPairingCode(setting.services, cast.coordinator, code.id);
    await expectRefused("withdrawn", code.jws, {}, code.id);
  });

  test("when a newer code of the same loan has replaced it", async () => {
    const lost = await issue(setting);
    const found = await issue(setting);
    expect(pairingCodesOfLoan(setting.services.db, things.loan).map((code) => code.id)).toEqual([
      found.id,
      lost.id,
    ]);
    await expectRefused("withdrawn", lost.jws, {}, lost.id);
    expect(await outcomeOf(claim(setting, found.jws))).toBe("accepted");
  });

  test("when the code has expired", async () => {
    const code = await issue(setting);
    setting.services.clock.set(code.expiresAt);
    await expectRefused("expired", code.jws, {}, code.id);
    setting.services.clock.move(-1);
    expect(await outcomeOf(claim(setting, code.jws))).toBe("accepted");
  });

  test("when the code was used, by picture or typed", async () => {
    const code = await issue(setting);
    expect(await outcomeOf(claim(setting, code.jws))).toBe("accepted");
    await expectRefused("already-used", code.typed, {}, code.id);
    setting.services.clock.set(instant(code.expiresAt + 1));
    expect(await outcomeOf(claim(setting, code.jws))).toBe("already-used");
  });

  test("when another unit brings it", async () => {
    const code = await issue(setting);
    await expectRefused("another-unit", code.jws, { unit: things.stockUnit }, code.id);
  });

  test("when the loan has ended", async () => {
    const code = await issue(setting);
    const end = {
      loan: things.loan,
      reason: "not needed",
      surface: "not-needed",
      unitTo: "coming-back",
    } as const;
    const ended = endLoan(setting.services, { kind: "staff", id: cast.coordinator.id }, end);
    expect(ended.kind).toBe("ended");
    await expectRefused("loan-ended", code.jws, {}, code.id);
  });

  test("when the loan has ended and its code was never withdrawn", async () => {
    const code = await issue(setting);
    setting.services.db.update(loan).set({ endedAt: setting.services.clock.now() }).run();
    await expectRefused("loan-ended", code.jws, {}, code.id);
  });

  test("when the key is not proved: a foreign signature, another name, a key of another kind, no request", async () => {
    const code = await issue(setting);
    const keys = await newKeys();
    const mixed = { privateKey: (await newKeys()).privateKey, publicKey: keys.publicKey };
    const p384 = { name: "ECDSA", namedCurve: "P-384", hash: "SHA-384" };
    const bad: readonly string[] = [
      await requestFor(things.lentUnit, mixed),
      await requestFor(things.stockUnit, keys),
      await requestFor(things.lentUnit, await newKeys(p384), p384),
      "-----BEGIN CERTIFICATE REQUEST-----\nAAAA\n-----END CERTIFICATE REQUEST-----",
      "no request at all",
    ];
    for (const certificateRequest of bad) {
      expect(await outcomeOf(claim(setting, code.jws, { certificateRequest }))).toBe("key-not-proved");
    }
    const why = auditRows(setting, "refuse-enrolment").map((row) => row.detail.detail);
    expect(why).toEqual(["signature", "name", "key-type", "not-a-request", "not-a-request"]);
  });

  test("when it is signed by another programme, or by nobody", async () => {
    const other = await newSetting();
    const foreign = await issue(other);
    other.services.close();
    await expectRefused("signature-not-ours", foreign.jws, {}, null);
    const [header, payload, signature] = (await issue(setting)).jws.split(".");
    const none = Buffer.from('{"alg":"none","typ":"pairing+jws"}').toString("base64url");
    expect(await outcomeOf(claim(setting, `${none}.${payload}.`))).toBe("signature-not-ours");
    const longer = Buffer.from(`${Buffer.from(payload ?? "", "base64url")} `).toString("base64url");
    expect(await outcomeOf(claim(setting, `${header}.${longer}.${signature}`))).toBe("signature-not-ours");
  });

  test("when it is not a code", async () => {
    await expectRefused("unreadable-code", "hello", {}, null);
    expect(await outcomeOf(claim(setting, "a.b.c"))).toBe("unreadable-code");
    // Sixteen letters that check out, yet nobody issued them.
    expect(await outcomeOf(claim(setting, typedCodeFrom(5n)))).toBe("signature-not-ours");
  });

  test("when too many codes were typed, from one address or from all; pictures still work", async () => {
    for (let attempt = 0; attempt < 10; attempt += 1) await claim(setting, "hello", {}, "2001:db8:1:2::1");
    // Another address of the same household's network.
    expect(await outcomeOf(claim(setting, "hello", {}, "2001:db8:1:2:3::9"))).toBe("too-many-tries");
    expect(await outcomeOf(claim(setting, "hello", {}, "2001:db8:1:3::1"))).toBe("unreadable-code");
    for (let attempt = 0; attempt < 89; attempt += 1) await claim(setting, "hello", {}, `192.0.2.${attempt}`);
    const code = await issue(setting);
    expect(await outcomeOf(claim(setting, code.typed, {}, "198.51.100.1"))).toBe("too-many-tries");
    setting.services.clock.move(10 * millisecondsIn.minute);
    expect(await outcomeOf(claim(setting, code.typed, {}, "198.51.100.1"))).toBe("accepted");
  });

  test("and a flood of refusals from one address fills the audit only so far", async () => {
    const { services } = setting;
    for (let attempt = 0; attempt < 210; attempt += 1) await claim(setting, "a.b.c");
    expect(auditRows(setting, "refuse-enrolment")).toHaveLength(200);
    expect(firstBrokenAuditRow(services.db)).toBeNull();
  });
});

async function expectRefused(
  reason: string,
  code: string,
  changes: Parameters<typeof claim>[2],
  id: string | null,
): Promise<void> {
  const before = certificates().length;
  const outcome = await claim(setting, code, changes);
  expect(outcome).toMatchObject({ kind: "refused", reason });
  const row = auditRows(setting, "refuse-enrolment").at(-1);
  expect(row?.detail).toMatchObject({ reason, code: id });
  expect(JSON.stringify(row)).not.toContain(code);
  expect(certificates()).toHaveLength(before);
}
