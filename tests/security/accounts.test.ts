import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { accountRoutes } from "../../server/http/account-routes.tsx";
import { createApp } from "../../server/http/app.ts";
import { auditRoutes } from "../../server/http/audit-routes.tsx";
import { frontRoutes } from "../../server/http/front-route.ts";
import { setUpRoutes } from "../../server/http/set-up-routes.tsx";
import { settingsRoutes } from "../../server/http/settings-routes.tsx";
import { signInRoutes } from "../../server/http/sign-in-routes.tsx";
import { staffRoutes } from "../../server/http/staff-routes.tsx";
import { invitationLifetime, makeInvitation, needsSetUp } from "../../server/security/invitations.ts";
import { hashPassword } from "../../server/security/passwords.ts";
import { appendAudit, firstBrokenAuditRow } from "../../server/store/audit.ts";
import { audit } from "../../server/store/schema/audit.ts";
import { settingsInForce } from "../../server/store/settings.ts";
import { credentialsByLogin, setPasswordHash } from "../../server/store/staff.ts";
import { cast, signedInAs, type TestServices, testServices } from "../support/cast.ts";

const password = "four unrelated words here";
const options = { baseUrl: "http://localhost", cast: [] };
let services: TestServices;

const open = () =>
  createApp(
    services,
    [
      ...frontRoutes,
      ...signInRoutes(services, options),
      ...setUpRoutes(services, options),
      ...accountRoutes(services, options),
      ...staffRoutes(services, options),
      ...settingsRoutes(services),
      ...auditRoutes(services),
    ],
    options,
  );

const form = (fields: Record<string, string>) => ({ method: "POST", body: new URLSearchParams(fields) });
const both = { password, passwordAgain: password };
const linkIn = (page: string) => page.match(/\/set-up\/[\w-]{43}/)?.[0] ?? "no link on the page";

beforeEach(() => {
  services = testServices();
});
afterEach(() => services.close());

describe("the first administrator's link", () => {
  it("makes one account, signs it in, and then works for nobody", async () => {
    const app = open();
    expect(needsSetUp(services.db)).toBe(true);
    const address = `/set-up/${makeInvitation(services, null)}`;
    expect(await (await app.request(address)).text()).toContain("first administrator");
    const fields = { login: "Neri", name: "Neri Vale", ...both };
    const answer = await app.request(address, form(fields));
    expect(answer.status).toBe(303);
    const cookie = answer.headers.get("set-cookie")?.split(";")[0] ?? "";
    expect((await app.request("/staff", { headers: { cookie } })).status).toBe(200);
    expect(needsSetUp(services.db)).toBe(false);
    expect((await app.request(address, form({ ...fields, login: "second" }))).status).toBe(410);
    expect(credentialsByLogin(services.db, "second")).toBeNull();
    expect((await app.request("/sign-in", form({ login: "neri", password }))).status).toBe(303);
  });

  it("used by two people at once makes one account", async () => {
    const app = open();
    const address = `/set-up/${makeInvitation(services, null)}`;
    const answers = await Promise.all(
      ["neri", "odo"].map((login) => app.request(address, form({ login, name: login, ...both }))),
    );
    expect(answers.map(({ status }) => status).sort()).toEqual([303, 410]);
  });

  it("stops working after a day, and when a new one is made", async () => {
    const app = open();
    const first = `/set-up/${makeInvitation(services, null)}`;
    const second = `/set-up/${makeInvitation(services, null)}`;
    expect((await app.request(first)).status).toBe(410);
    expect((await app.request(second)).status).toBe(200);
    services.clock.move(invitationLifetime);
    expect((await app.request(second)).status).toBe(410);
    expect((await app.request(`/set-up/${"x".repeat(43)}`)).status).toBe(410);
  });

  it("names what is wrong with a form and keeps what was typed", async () => {
    const app = open();
    const address = `/set-up/${makeInvitation(services, null)}`;
    const short = await app.request(
      address,
      form({ login: "neri", name: "Neri Vale", password: "short", passwordAgain: "short" }),
    );
    expect(short.status).toBe(422);
    const page = await short.text();
    expect(page).toContain("Use at least 15 characters");
    expect(page).toContain('value="Neri Vale"');
    expect(page).not.toContain('value="short"');
    const differ = await app.request(
      address,
      form({ login: "neri", name: "N", password, passwordAgain: `${password}!` }),
    );
    expect(await differ.text()).toContain("The two differ.");
    const taken = await app.request(address, form({ login: cast.clinician.login, name: "N", ...both }));
    expect(await taken.text()).toContain("Someone has this sign-in name.");
  });
});

describe("an administrator", () => {
  it("invites someone by a link that is shown once and lets them choose a password", async () => {
    const app = open();
    const admin = signedInAs(services, "administrator");
    const answer = await app.request(
      "/staff",
      admin.post({ name: "Pia Thorn", login: "pia", role: "technician" }),
    );
    const link = linkIn(await answer.text());
    expect(await (await app.request("/staff", { headers: admin.headers })).text()).not.toContain("/set-up/");
    expect((await app.request("/sign-in", form({ login: "pia", password }))).status).toBe(422);
    expect((await app.request(link, form(both))).status).toBe(303);
    expect((await app.request("/sign-in", form({ login: "pia", password }))).status).toBe(303);
    expect((await app.request(link, form(both))).status).toBe(410);
  });

  it("closes an account, which ends its sessions at once, but not their own nor the last administrator's", async () => {
    const app = open();
    setPasswordHash(services.db, cast.administrator.id, await hashPassword(password));
    const admin = signedInAs(services, "administrator");
    const technician = signedInAs(services, "technician");
    expect((await app.request("/account", { headers: technician.headers })).status).toBe(200);
    expect((await app.request(`/staff/${cast.technician.id}/disable`, admin.post())).status).toBe(303);
    expect((await app.request("/account", { headers: technician.headers })).status).toBe(303);
    const own = await app.request(`/staff/${cast.administrator.id}/disable`, admin.post());
    expect(await own.text()).toContain("your own account");
    expect((await app.request(`/staff/${cast.technician.id}/enable`, admin.post())).status).toBe(303);
    expect((await app.request(`/staff/nobody/disable`, admin.post())).status).toBe(404);
  });

  it("changes an assumption within its range, and the change is in the audit log with both values", async () => {
    const app = open();
    const admin = signedInAs(services, "administrator");
    const now = settingsInForce(services.db);
    const typed = Object.fromEntries(Object.entries(now).map(([name, value]) => [name, String(value)]));
    const outside = await app.request(
      "/settings",
      admin.post({ ...typed, settledThreshold: "0.3", pairingCodeHours: "24" }),
    );
    expect(outside.status).toBe(422);
    const page = await outside.text();
    expect(page).toContain("Enter a number from 0.5 to 0.999 probability.");
    expect(page).toContain('value="24"');
    expect(settingsInForce(services.db)).toEqual(now);
    expect((await app.request("/settings", admin.post({ ...typed, pairingCodeHours: "24" }))).status).toBe(
      303,
    );
    expect(settingsInForce(services.db)).toEqual({ ...now, pairingCodeHours: 24 });
    const rows = services.db.select().from(audit).all();
    expect(rows.map(({ action, subject, detail }) => ({ action, subject, detail }))).toEqual([
      { action: "change-setting", subject: "setting:pairingCodeHours", detail: { from: 72, to: 24 } },
    ]);
  });
});

describe("changing one's own password", () => {
  it("signs out everywhere else and keeps the one who changed it signed in", async () => {
    const app = open();
    setPasswordHash(services.db, cast.clinician.id, await hashPassword(password));
    const here = signedInAs(services, "clinician");
    const elsewhere = signedInAs(services, "clinician");
    const chosen = "another four unrelated words";
    const wrong = await app.request(
      "/account/password",
      here.post({ currentPassword: "not it at all, no", password: chosen, passwordAgain: chosen }),
    );
    expect(await wrong.text()).toContain("not your current password");
    const changed = await app.request(
      "/account/password",
      here.post({ currentPassword: password, password: chosen, passwordAgain: chosen }),
    );
    expect(changed.status).toBe(303);
    const cookie = changed.headers.get("set-cookie")?.split(";")[0] ?? "";
    expect((await app.request("/account", { headers: { cookie } })).status).toBe(200);
    for (const old of [here, elsewhere]) {
      expect((await app.request("/account", { headers: old.headers })).headers.get("location")).toContain(
        "/sign-in",
      );
    }
    expect((await app.request("/sign-in", form({ login: "ines", password: chosen }))).status).toBe(303);
  });
});

describe("the audit chain", () => {
  const fill = () => {
    for (let row = 1; row <= 5; row++) {
      appendAudit(services.db, {
        at: services.clock.now(),
        actor: { kind: "system" },
        action: "something",
        subject: `thing:${row}`,
        detail: { row },
      });
    }
  };
  const run = (sql: string) => services.database.driver.exec(sql);

  it("holds while rows are only added", () => {
    fill();
    expect(firstBrokenAuditRow(services.db)).toBeNull();
  });

  it.each([
    ["a changed detail", "update audit set detail = '{\"row\":9}' where id = 3", 3],
    ["a changed time", "update audit set at = at + 1 where id = 2", 2],
    ["another actor", "update audit set actor = 'staff_technician' where id = 4", 4],
    ["a row taken out", "delete from audit where id = 3", 4],
    [
      "two rows exchanged",
      "update audit set id = 99 where id = 2; update audit set id = 2 where id = 3; update audit set id = 3 where id = 99",
      2,
    ],
  ])("shows %s", async (_what, sql, brokenAt) => {
    fill();
    run(sql);
    expect(firstBrokenAuditRow(services.db)).toBe(brokenAt);
    const { headers } = signedInAs(services, "administrator");
    const page = await (await open().request("/audit/check", { headers })).text();
    expect(page).toContain("The chain is broken");
    expect(page).toContain(`at row ${brokenAt}`);
  });

  it("is shown newest first, a page at a time, with names for staff", async () => {
    const app = open();
    const { headers } = signedInAs(services, "administrator");
    for (let row = 0; row < 120; row++) {
      const actor = { kind: "staff", id: cast.coordinator.id } as const;
      appendAudit(services.db, {
        at: services.clock.now(),
        actor,
        action: "open-loan",
        subject: `loan:${row}`,
        detail: {},
      });
    }
    const first = await (await app.request("/audit", { headers })).text();
    expect(first).toContain("Odile Marsh");
    expect(first).toContain("loan:119");
    expect(first).not.toContain("loan:19<");
    const older = first.match(/\/audit\?before=\d+/)?.[0] ?? "";
    const second = await (await app.request(older, { headers })).text();
    expect(second).toContain("loan:19<");
    expect(second).not.toContain("loan:20<");
    expect(second).not.toContain("Older rows");
  });
});
