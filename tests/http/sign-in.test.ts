import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { createApp } from "../../server/http/app.ts";
import { assetRoutes } from "../../server/http/assets-routes.ts";
import { frontRoutes } from "../../server/http/front-route.ts";
import { signInAsRoutes } from "../../server/http/sign-in-as-routes.ts";
import { type SignInOptions, signInRoutes } from "../../server/http/sign-in-routes.tsx";
import { hashPassword } from "../../server/security/passwords.ts";
import { absoluteLimit, idleLimit } from "../../server/security/sessions.ts";
import { audit } from "../../server/store/schema/audit.ts";
import { setDisabled, setPasswordHash } from "../../server/store/staff.ts";
import { cast, signedInAs, type TestServices, testServices } from "../support/cast.ts";

const password = "four unrelated words here";
let services: TestServices;

const appWith = (changes: Partial<SignInOptions> = {}) => {
  const options = { baseUrl: "http://localhost", cast: [], ...changes };
  return createApp(
    services,
    [
      ...frontRoutes,
      ...assetRoutes,
      ...signInRoutes(services, options),
      ...signInAsRoutes(services, options),
    ],
    options,
  );
};

const attempt = (fields: Record<string, string>, headers: Record<string, string> = {}) => ({
  method: "POST",
  headers,
  body: new URLSearchParams(fields),
});

const auditedActions = () =>
  services.db
    .select()
    .from(audit)
    .all()
    .map(({ action, detail }) => ({ action, detail }));

beforeEach(async () => {
  services = testServices();
  setPasswordHash(services.db, cast.technician.id, await hashPassword(password));
});
afterEach(() => services.close());

describe("signing in", () => {
  it("leads to the reader's own desk and is audited without a name", async () => {
    const app = appWith();
    const answer = await app.request("/sign-in", attempt({ login: " Tomasz ", password }));
    expect(answer.status).toBe(303);
    const cookie = answer.headers.get("set-cookie") ?? "";
    expect(cookie).toMatch(/^cushionry=[\w-]{43};/);
    expect(cookie).toMatch(/HttpOnly/);
    expect(cookie).toMatch(/SameSite=Lax/);
    const front = await app.request("/", { headers: { cookie: cookie.split(";")[0] ?? "" } });
    expect(front.headers.get("location")).toBe("/bench");
    expect(auditedActions()).toEqual([{ action: "sign-in", detail: {} }]);
  });

  it("uses a Secure cookie that no other site can plant when the console is reached over TLS", async () => {
    const app = appWith({ baseUrl: "https://cushions.example" });
    const answer = await app.request("/sign-in", attempt({ login: "tomasz", password }));
    expect(answer.headers.get("set-cookie")).toMatch(/^__Host-cushionry=.*; Path=\/;.*Secure/);
    expect(answer.headers.get("strict-transport-security")).toBe("max-age=31536000");
  });

  it("gives one answer for a wrong password, an unknown name and a closed account", async () => {
    const app = appWith();
    const wrong = await app.request(
      "/sign-in",
      attempt({ login: "tomasz", password: "something else altogether" }),
    );
    const unknown = await app.request("/sign-in", attempt({ login: "nobody", password }));
    setDisabled(services.db, cast.technician.id, services.clock.now());
    const closed = await app.request("/sign-in", attempt({ login: "tomasz", password }));
    const notTaken = await app.request("/sign-in", attempt({ login: "odile", password }));
    const words = async (answer: Response) => [
      answer.status,
      (await answer.text()).match(/role="alert".*?<\/div>/s)?.[0],
    ];
    const first = await words(wrong);
    expect(first[0]).toBe(422);
    expect(first[1]).toContain("belong together");
    for (const answer of [unknown, closed, notTaken]) expect(await words(answer)).toEqual(first);
    expect(auditedActions().map(({ detail }) => detail.reason)).toEqual([
      "wrong password",
      "unknown name",
      "account is disabled",
      "invitation not taken up",
    ]);
  });

  it("stops a guesser after five attempts, even with the right password, and lets the person in later", async () => {
    const app = appWith();
    for (let i = 0; i < 5; i++)
      await app.request("/sign-in", attempt({ login: "tomasz", password: `guess number ${i}` }));
    const sixth = await app.request("/sign-in", attempt({ login: "tomasz", password }));
    expect(sixth.status).toBe(422);
    expect(await sixth.text()).toContain("Too many attempts");
    await app.request("/sign-in", attempt({ login: "tomasz", password }));
    expect(auditedActions().filter(({ detail }) => detail.reason === "too many attempts")).toHaveLength(1);
    services.clock.move(15 * 60_000);
    expect((await app.request("/sign-in", attempt({ login: "tomasz", password }))).status).toBe(303);
  });

  it.each([
    ["/bench?level=watch", "/bench?level=watch"],
    ["//elsewhere.example", "/"],
    ["/\\elsewhere.example", "/"],
    ["/\t/elsewhere.example", "/"],
    ["https://elsewhere.example/", "/"],
    ["javascript:alert(1)", "/"],
  ])("goes on to %j only as %s", async (next, where) => {
    const answer = await appWith().request("/sign-in", attempt({ login: "tomasz", password, next }));
    expect(answer.headers.get("location")).toBe(where);
  });

  it("sends a stranger to sign in first, and back to where they were going", async () => {
    const answer = await appWith().request("/");
    expect(answer.headers.get("location")).toBe("/sign-in");
  });
});

describe("a session", () => {
  it("ends after an idle hour, which a page renewing itself does not put off", async () => {
    const app = appWith();
    const { headers } = signedInAs(services, "technician");
    services.clock.move(idleLimit - 1);
    expect((await app.request("/", { headers })).headers.get("location")).toBe("/bench");
    services.clock.move(idleLimit - 1);
    const renewing = { ...headers, "cushionry-refresh": "1", "hx-request": "true" };
    expect((await app.request("/", { headers: renewing })).headers.get("location")).toBe("/bench");
    services.clock.move(1);
    const ended = await app.request("/", { headers: renewing });
    expect([ended.status, ended.headers.get("hx-redirect")]).toEqual([401, "/sign-in"]);
  });

  it("ends after a working day, however busy", async () => {
    const app = appWith();
    const { headers } = signedInAs(services, "technician");
    for (let passed = 0; passed < absoluteLimit; passed += idleLimit / 2) {
      expect((await app.request("/", { headers })).headers.get("location")).toBe("/bench");
      services.clock.move(idleLimit / 2);
    }
    expect((await app.request("/", { headers })).headers.get("location")).toBe("/sign-in");
  });

  it("is a new one at each sign-in, and the one before is worth nothing", async () => {
    const app = appWith();
    const before = signedInAs(services, "technician");
    await app.request("/sign-in", attempt({ login: "tomasz", password }, before.headers));
    expect((await app.request("/", { headers: before.headers })).headers.get("location")).toBe("/sign-in");
  });

  it("is over after signing out", async () => {
    const app = appWith();
    const me = signedInAs(services, "technician");
    expect((await app.request("/sign-out", me.post())).status).toBe(303);
    expect((await app.request("/", { headers: me.headers })).headers.get("location")).toBe("/sign-in");
  });
});

describe("a form", () => {
  it("without the session's token, or with another's, changes nothing and is audited", async () => {
    const app = appWith();
    const me = signedInAs(services, "technician");
    const other = signedInAs(services, "coordinator");
    for (const csrf of ["", other.csrf, `${me.csrf}x`]) {
      const answer = await app.request("/sign-out", attempt({ csrf }, me.headers));
      expect(answer.status).toBe(403);
      expect(await answer.text()).toContain("This form was not accepted");
    }
    expect((await app.request("/", { headers: me.headers })).headers.get("location")).toBe("/bench");
    expect(auditedActions().map(({ action }) => action)).toEqual([
      "refuse-form",
      "refuse-form",
      "refuse-form",
    ]);
  });

  it("from another site is refused even with the token, and so is a sign-in sent from there", async () => {
    const app = appWith();
    const me = signedInAs(services, "technician");
    for (const header of [
      { origin: "https://elsewhere.example" },
      { "sec-fetch-site": "cross-site" },
      { origin: "null" },
    ]) {
      const answer = await app.request("/sign-out", attempt({ csrf: me.csrf }, { ...me.headers, ...header }));
      expect(answer.status).toBe(403);
      const login = await app.request("/sign-in", attempt({ login: "tomasz", password }, header));
      expect(login.status).toBe(403);
      expect(login.headers.get("set-cookie")).toBeNull();
    }
    const own = { ...me.headers, origin: "http://localhost", "sec-fetch-site": "same-origin" };
    expect((await app.request("/sign-out", attempt({ csrf: me.csrf }, own))).status).toBe(303);
  });

  it("larger than any of ours is refused", async () => {
    const answer = await appWith().request(
      "/sign-in",
      attempt({ login: "x".repeat(300_000) }, { "content-length": "300006" }),
    );
    expect(answer.status).toBe(413);
  });
});

describe("entering as one of the cast", () => {
  it("is offered in a demonstration, where every page says that its data are invented", async () => {
    const app = appWith({ invented: true, cast: [cast.clinician.id] });
    const page = await (await app.request("/sign-in")).text();
    expect(page).toContain("Enter as Ines Calder");
    expect(page).toContain("Invented data.");
    const answer = await app.request("/sign-in/as", attempt({ staff: cast.clinician.id }));
    expect(answer.headers.get("set-cookie")).toMatch(/^cushionry=/);
    expect((await app.request("/sign-in/as", attempt({ staff: cast.technician.id }))).status).toBe(404);
  });

  it("does not exist outside a demonstration", async () => {
    const app = appWith();
    expect(await (await app.request("/sign-in")).text()).not.toContain("Enter as");
    const answer = await app.request("/sign-in/as", attempt({ staff: cast.clinician.id }));
    expect([answer.status, answer.headers.get("set-cookie")]).toEqual([404, null]);
    expect(() => appWith({ cast: [cast.clinician.id] })).toThrow(/invented/);
  });
});

describe("every answer", () => {
  it("says what a browser may do with it, and pages are kept by no cache", async () => {
    const answer = await appWith().request("/sign-in");
    expect(answer.headers.get("content-security-policy")).toBe(
      "default-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'; object-src 'none'",
    );
    expect(answer.headers.get("x-content-type-options")).toBe("nosniff");
    expect(answer.headers.get("referrer-policy")).toBe("same-origin");
    expect(answer.headers.get("cache-control")).toBe("no-store");
    expect(answer.headers.get("strict-transport-security")).toBeNull();
  });

  it("lets an asset be kept for ever only under the address that carries its content's digest", async () => {
    const app = appWith();
    const page = await (await app.request("/sign-in")).text();
    const address = page.match(/\/assets\/cushionry\.css\?v=\w+/)?.[0] ?? "";
    expect((await app.request(address)).headers.get("cache-control")).toContain("immutable");
    const plain = await app.request("/assets/cushionry.css");
    expect(plain.headers.get("cache-control")).toBe("no-cache");
    const again = await app.request("/assets/cushionry.css", {
      headers: { "if-none-match": plain.headers.get("etag") ?? "" },
    });
    expect(again.status).toBe(304);
  });
});
