import { eq } from "drizzle-orm";
import { afterEach, beforeEach, describe, expect, test } from "vitest";
import { planId } from "../../server/domain/ids.ts";
import { instant, millisecondsIn } from "../../server/domain/units.ts";
import { currentCertificateOf, revokeCertificatesOfLoan } from "../../server/store/certificates.ts";
import { certificate } from "../../server/store/schema/enrolment.ts";
import { unit } from "../../server/store/schema/equipment.ts";
import { loan, reliefPlan } from "../../server/store/schema/loans.ts";
import { things } from "../support/cast.ts";
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
    expect(outcome.kind === "accepted" && outcome.answer.plan?.version).toBe(1);
    services.clock.move(86_400_000);
    const again = await claim(setting, (await issue(setting)).jws);
    expect(again.kind === "accepted" && again.answer.plan?.version).toBe(2);
  });
});

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
