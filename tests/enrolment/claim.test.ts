import { eq } from "drizzle-orm";
import { afterEach, beforeEach, describe, expect, test } from "vitest";
import { typedCodeFrom } from "../../server/domain/enrolment/typed-code.ts";
import { loanId, planId } from "../../server/domain/ids.ts";
import { instant, millisecondsIn } from "../../server/domain/units.ts";
import { issuePairingCode } from "../../server/enrolment/issue-pairing-code.ts";
import { pairingCodeText } from "../../server/enrolment/pairing-code-text.ts";
import { withdrawPairingCode } from "../../server/enrolment/withdraw-pairing-code.ts";
import { endLoan } from "../../server/programme/end-loan.ts";
import { firstBrokenAuditRow } from "../../server/store/audit.ts";
import { currentCertificateOf, revokeCertificatesOfLoan } from "../../server/store/certificates.ts";
import { pairingCodeById, pairingCodesOfLoan } from "../../server/store/pairing-codes.ts";
import { certificate, loan, reliefPlan, unit } from "../../server/store/schema.ts";
import { cast, things } from "../support/cast.ts";
import {
  auditRows,
  brokerAddress,
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
const loanRow = () => setting.services.db.select().from(loan).where(eq(loan.id, things.loan)).get();

describe("a unit that claims its own code with its own key", () => {
  test("gets its certificate, the broker, its topics and the relief plan in force, and the loan begins", async () => {
    const { services } = setting;
    services.db.update(loan).set({ startedAt: null }).run();
    services.db.update(unit).set({ place: "reserved" }).where(eq(unit.serial, things.lentUnit)).run();
    const followed: string[] = [];
    services.live.follow([`loan:${things.loan}`, `unit:${things.lentUnit}`, "stores"], (topic) => {
      followed.push(topic);
    });
    const outcome = await claim(setting, (await issue(setting)).jws);
    if (outcome.kind === "refused") throw new Error(outcome.reason);

    const stored = currentCertificateOf(services.db, things.lentUnit);
    expect(outcome.answer).toEqual({
      certificateChain: `${stored?.pem}${setting.enrolment.authority.rootPem}`,
      authority: setting.enrolment.authority.rootPem,
      broker: brokerAddress,
      topicRoot: "cushion/1/CU-000101",
      plan: {
        version: 1,
        intervalMinutes: 30,
        holdSeconds: 120,
        kinds: ["lift", "lean-left", "lean-right", "lean-forward"],
      },
    });
    expect(loanRow()?.startedAt).toBe(services.clock.now());
    expect(services.db.select().from(unit).where(eq(unit.serial, things.lentUnit)).get()?.place).toBe(
      "on-loan",
    );
    expect(new Set(followed)).toEqual(new Set(["stores", "loan:loan_one", "unit:CU-000101"]));
    expect(auditRows(setting, "enrol-unit")).toHaveLength(1);
  });

  test("may type the code instead, in lower case and with spaces", async () => {
    const typed = (await issue(setting)).typed.toLowerCase().replaceAll("-", " ");
    expect(await outcomeOf(claim(setting, typed))).toBe("accepted");
  });

  test("may hold an Ed25519 key instead of a P-256 one", async () => {
    const algorithm = { name: "Ed25519" };
    const certificateRequest = await requestFor(things.lentUnit, await newKeys(algorithm), algorithm);
    expect(await outcomeOf(claim(setting, (await issue(setting)).jws, { certificateRequest }))).toBe(
      "accepted",
    );
  });

  test("gets the plan that is in force, not one that begins tomorrow", async () => {
    const { services } = setting;
    const first = services.db
      .select()
      .from(reliefPlan)
      .where(eq(reliefPlan.borrowerId, things.borrower))
      .get();
    if (first === undefined) throw new Error("the cast has a plan");
    const later = { version: 2, validFrom: instant(services.clock.now() + 86_400_000) };
    services.db
      .insert(reliefPlan)
      .values({ ...first, id: planId("plan_2"), ...later })
      .run();
    const outcome = await claim(setting, (await issue(setting)).jws);
    expect(outcome.kind === "accepted" && outcome.answer.plan.version).toBe(1);
    services.clock.move(86_400_000);
    const again = await claim(setting, (await issue(setting)).jws);
    expect(again.kind === "accepted" && again.answer.plan.version).toBe(2);
  });
});

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

describe("a code works once", () => {
  test("of many claims racing with different keys exactly one wins, and only its certificate is stored", async () => {
    const code = await issue(setting);
    const requests = await Promise.all(
      Array.from({ length: 8 }, async () => requestFor(things.lentUnit, await newKeys())),
    );
    const outcomes = await Promise.all(
      requests.map((certificateRequest, index) =>
        outcomeOf(claim(setting, index % 2 === 0 ? code.jws : code.typed, { certificateRequest })),
      ),
    );
    expect(outcomes.filter((outcome) => outcome === "accepted")).toHaveLength(1);
    expect(outcomes.filter((outcome) => outcome === "already-used")).toHaveLength(7);
    expect(certificates()).toHaveLength(1);
    expect(auditRows(setting, "enrol-unit")).toHaveLength(1);
  });

  test("two claims racing with the same key both get the one certificate", async () => {
    const code = await issue(setting);
    const certificateRequest = await requestFor(things.lentUnit, await newKeys());
    const claims = [
      claim(setting, code.jws, { certificateRequest }),
      claim(setting, code.jws, { certificateRequest }),
    ];
    const [first, second] = await Promise.all(claims);
    expect(first?.kind).toBe("accepted");
    expect(second).toEqual(first);
    expect(certificates()).toHaveLength(1);
  });

  test("an answer lost on its way is given again to the same key for ten minutes, to another key never", async () => {
    const code = await issue(setting);
    const keys = await newKeys();
    const first = await claim(setting, code.jws, {
      certificateRequest: await requestFor(things.lentUnit, keys),
    });
    setting.services.clock.move(10 * millisecondsIn.minute - 1);
    const again = await claim(setting, code.jws, {
      certificateRequest: await requestFor(things.lentUnit, keys),
    });
    expect(again).toEqual(first);
    expect(await outcomeOf(claim(setting, code.jws))).toBe("already-used");
    setting.services.clock.move(1);
    const late = { certificateRequest: await requestFor(things.lentUnit, keys) };
    expect(await outcomeOf(claim(setting, code.jws, late))).toBe("already-used");
  });

  test("the same key does not get its certificate again once that was revoked", async () => {
    const code = await issue(setting);
    const certificateRequest = await requestFor(things.lentUnit, await newKeys());
    await claim(setting, code.jws, { certificateRequest });
    const { services } = setting;
    revokeCertificatesOfLoan(services.db, things.loan, services.clock.now(), "taken-back");
    expect(await outcomeOf(claim(setting, code.jws, { certificateRequest }))).toBe("already-used");
  });

  test("a unit that enrols anew has its earlier certificate revoked, and the loan keeps its beginning", async () => {
    const { services } = setting;
    await claim(setting, (await issue(setting)).jws);
    const earlier = currentCertificateOf(services.db, things.lentUnit);
    const startedAt = loanRow()?.startedAt;
    services.clock.move(millisecondsIn.hour);
    let told = 0;
    services.live.follow(["certificates"], () => {
      told += 1;
    });
    await claim(setting, (await issue(setting)).jws);
    const rows = certificates();
    expect(rows.find((row) => row.serial === earlier?.serial)).toMatchObject({
      revokedAt: services.clock.now(),
      revokeReason: "superseded",
    });
    expect(rows.filter((row) => row.revokedAt === null)).toHaveLength(1);
    expect(told).toBe(1);
    expect(loanRow()?.startedAt).toBe(startedAt);
  });

  test("nothing is changed by a claim whose transaction fails half way", async () => {
    const { services } = setting;
    const code = await issue(setting);
    services.database.driver.exec(
      "create trigger fail_audit before insert on audit when new.action = 'enrol-unit' begin select raise(abort, 'disk full'); end",
    );
    await expect(claim(setting, code.jws)).rejects.toThrow(/disk full/);
    expect(certificates()).toEqual([]);
    services.database.driver.exec("drop trigger fail_audit");
    expect(await outcomeOf(claim(setting, code.jws))).toBe("accepted");
  });
});

describe("a code is issued", () => {
  test("only for an open loan whose borrower has a relief plan in force", async () => {
    const { services, enrolment } = setting;
    const rule = async (loan = things.loan) => {
      const outcome = await issuePairingCode(services, enrolment, cast.coordinator, loan);
      return outcome.kind === "refused" ? outcome.rule : outcome.kind;
    };
    expect(await rule()).toBe("issued");
    expect(await rule(loanId("loan_none"))).toBe("unknown-loan");
    services.db.delete(reliefPlan).run();
    expect(await rule()).toBe("no-relief-plan");
    services.db.update(loan).set({ endedAt: services.clock.now() }).run();
    expect(await rule()).toBe("loan-ended");
  });

  test("for 72 hours unless the programme has set otherwise", async () => {
    const code = await issue(setting);
    expect(code.expiresAt - setting.services.clock.now()).toBe(72 * millisecondsIn.hour);
  });

  test("and neither its text nor its typed form is kept, yet both can be shown again to the letter", async () => {
    const { services, enrolment } = setting;
    const code = await issue(setting);
    const stored = pairingCodeById(services.db, code.id);
    if (stored === undefined) throw new Error("not stored");
    expect(await pairingCodeText(enrolment, stored)).toEqual({ jws: code.jws, typed: code.typed });
    const everything = services.database.driver.serialize().toString("latin1");
    expect(everything).toContain(code.id);
    for (const secret of [code.jws, code.typed, code.typed.replaceAll("-", "")]) {
      expect(everything).not.toContain(secret);
    }
  });

  test("and can be withdrawn only while it could still be used", async () => {
    const { services } = setting;
    const withdraw = (id: Awaited<ReturnType<typeof issue>>["id"]) => {
      const outcome = withdrawPairingCode(services, cast.coordinator, id);
      return outcome.kind === "refused" ? outcome.rule : outcome.kind;
    };
    const first = await issue(setting);
    expect(withdraw(first.id)).toBe("withdrawn");
    expect(withdraw(first.id)).toBe("already-withdrawn");
    const second = await issue(setting);
    await claim(setting, second.jws);
    expect(withdraw(second.id)).toBe("already-spent");
    const third = await issue(setting);
    services.clock.set(third.expiresAt);
    expect(withdraw(third.id)).toBe("already-expired");
    expect(auditRows(setting, "withdraw-pairing-code")).toHaveLength(1);
  });
});
