import { Hono } from "hono";
import { afterEach, beforeEach, expect, test } from "vitest";
import { enrolRoutes } from "../../server/http/enrol-route.ts";
import type { AppEnv } from "../../server/http/route.ts";
import { things } from "../support/cast.ts";
import { auditRows, issue, newKeys, newSetting, requestFor, type Setting } from "./setting.ts";

let setting: Setting;
let app: Hono<AppEnv>;
beforeEach(async () => {
  setting = await newSetting();
  app = new Hono<AppEnv>();
  for (const route of enrolRoutes(setting.services, setting.enrolment)) {
    app.on(route.method, route.path, route.handle);
  }
});
afterEach(() => setting.services.close());

const post = (body: string) => app.request("/enrol", { method: "POST", body });

async function requestBody(): Promise<string> {
  const certificateRequest = await requestFor(things.lentUnit, await newKeys());
  return JSON.stringify({ code: (await issue(setting)).jws, unit: things.lentUnit, certificateRequest });
}

test("a unit enrols with one request, and the answer is kept by no cache", async () => {
  const body = await requestBody();
  const answer = await post(body);
  expect(answer.status).toBe(200);
  expect(answer.headers.get("cache-control")).toBe("no-store");
  expect(await answer.json()).toMatchObject({
    topicRoot: "cushion/1/CU-000101",
    plan: { intervalMinutes: 30 },
  });
});

test("a second claim is answered 409 with the reason and what to do next", async () => {
  const body = await requestBody();
  await post(body);
  const other = {
    ...JSON.parse(body),
    certificateRequest: await requestFor(things.lentUnit, await newKeys()),
  };
  const answer = await post(JSON.stringify(other));
  expect(answer.status).toBe(409);
  expect(await answer.json()).toEqual({
    refused: "already-used",
    message: expect.stringContaining("ask the stores desk for a new code"),
  });
});

test("a request that can't be read is refused by naming the fields, and audited", async () => {
  for (const [body, problem] of [
    ["{", "not JSON"],
    ["[]", "wrong or missing: body"],
    ['{"code":"x","unit":7}', "wrong or missing: unit, certificateRequest"],
    [JSON.stringify({ code: "x".repeat(70_000), unit: "u", certificateRequest: "r" }), "larger than 64 kB"],
  ] as const) {
    const answer = await post(body);
    expect(answer.status).toBe(400);
    expect(await answer.json()).toMatchObject({
      refused: "unreadable-request",
      message: expect.stringContaining(problem),
    });
  }
  expect(auditRows(setting, "refuse-enrolment")).toHaveLength(4);
});

test("a guesser of typed codes is told to wait, and how long", async () => {
  const body = JSON.stringify({ code: "2222-2222-2222-2222", unit: "CU-000101", certificateRequest: "none" });
  for (let attempt = 0; attempt < 10; attempt += 1) expect((await post(body)).status).toBe(400);
  const answer = await post(body);
  expect(answer.status).toBe(429);
  expect(answer.headers.get("retry-after")).toBe("600");
  expect(await answer.json()).toMatchObject({ refused: "too-many-tries" });
});

test("anyone may fetch the root and the revocation list: a broker in front needs both", async () => {
  const root = await app.request("/authority/root.pem");
  expect(await root.text()).toBe(setting.enrolment.authority.rootPem);
  const list = await app.request("/authority/revoked.crl");
  expect(await list.text()).toMatch(/^-----BEGIN X509 CRL-----\n/);
});
