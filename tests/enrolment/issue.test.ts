import { afterEach, beforeEach, describe, expect, test } from "vitest";
import { loanId } from "../../server/domain/ids.ts";
import { millisecondsIn } from "../../server/domain/units.ts";
import { issuePairingCode } from "../../server/enrolment/issue-pairing-code.ts";
import { pairingCodeText } from "../../server/enrolment/pairing-code-text.ts";
import { withdrawPairingCode } from "../../server/enrolment/withdraw-pairing-code.ts";
import { pairingCodeById } from "../../server/store/pairing-codes.ts";
import { loan, reliefPlan } from "../../server/store/schema/loans.ts";
import { cast, things } from "../support/cast.ts";
import { auditRows, claim, issue, newSetting, type Setting } from "./setting.ts";

let setting: Setting;
beforeEach(async () => {
  setting = await newSetting();
});
afterEach(() => setting.services.close());

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
