import type { Hono } from "hono";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { actions, mayDo, type Role } from "../../server/domain/access/roles.ts";
import { openEnrolment } from "../../server/enrolment/enrolment.ts";
import { createApp } from "../../server/http/app.ts";
import type { AppEnv, Route } from "../../server/http/route.ts";
import { allRoutes } from "../../server/routes.ts";
import { addressOf } from "../support/addresses.ts";
import { cast, signedInAs, type TestServices, testServices } from "../support/cast.ts";

let services: TestServices;
let routes: readonly Route[];
let app: Hono<AppEnv>;

beforeAll(async () => {
  services = testServices();
  // Nothing here has to survive a power cut.
  services.database.driver.pragma("synchronous = OFF");
  const enrolment = await openEnrolment(services, {
    dataFolder: services.dataFolder,
    broker: { host: "localhost", port: 8883 },
  });
  const options = { baseUrl: "http://localhost", cast: [cast.technician.id], invented: true };
  const stopping = new AbortController().signal;
  // Carries its own proof, a token: tests/http/metrics.test.ts.
  const metrics = { token: "of-the-operators-own", render: () => "" };
  const loadLog = async () => ({ kind: "refused", sentence: "No log was given." }) as const;
  routes = allRoutes({ services, enrolment, options, readiness: {}, metrics, loadLog, stopping });
  app = createApp(services, routes, options);
});
afterAll(() => services.close());

const people = ["coordinator", "technician", "clinician", "administrator"] as const satisfies readonly Role[];

/** Everything that answers someone who isn't signed in. Adding to this list is a decision. */
const openToAnyone = [
  "GET /assets/cushionry.css",
  "GET /assets/htmx.js",
  "GET /assets/mark.svg",
  "GET /authority/revoked.crl",
  "GET /authority/root.pem",
  "GET /authority/signing-key.json",
  "GET /certificates/:code",
  "GET /certificates/:code/signed",
  "GET /healthz",
  "GET /metrics",
  "GET /readyz",
  "GET /set-up/:token",
  "GET /sign-in",
  "POST /enrol",
  "POST /set-up/:token",
  "POST /sign-in",
  "POST /sign-in/as",
];

/** Of those, what refuses a stranger all the same: it asks for a token that no page gives. */
const asksForToken = ["GET /metrics"];

const nameOf = (route: Route): string => `${route.method} ${route.path}`;

async function ask(route: Route, who: (typeof people)[number] | null, withToken: boolean) {
  const signedIn = who === null ? null : signedInAs(services, who);
  const csrf = withToken && signedIn ? { csrf: signedIn.csrf } : {};
  const answer = await app.request(addressOf(route), {
    method: route.method,
    headers: signedIn?.headers ?? {},
    ...(route.method === "POST" ? { body: new URLSearchParams(csrf) } : {}),
  });
  const page = answer.headers.get("content-type")?.includes("event-stream") ? "" : await answer.text();
  if (page === "") await answer.body?.cancel().catch(() => {});
  return { status: answer.status, location: answer.headers.get("location") ?? "", page };
}

type Answer = Awaited<ReturnType<typeof ask>>;

function verdictOn({ status, location, page }: Answer): string {
  if (location.startsWith("/sign-in?") || location === "/sign-in") return "sent to sign in";
  if (status === 401) return "sent to sign in";
  if (status === 403) return page.includes("This form was not accepted") ? "form refused" : "role refused";
  return status >= 500 ? `failed with ${status}` : "allowed";
}

describe("every route", () => {
  it("that answers a stranger is one of those meant to", () => {
    const found = routes.filter(({ needs }) => needs === "public").map(nameOf);
    expect(found.sort()).toEqual(openToAnyone);
  });

  it("sends a stranger to sign in, unless it is open to anyone", async () => {
    const wrong: string[] = [];
    for (const route of routes) {
      const verdict = verdictOn(await ask(route, null, false));
      const isOpen = openToAnyone.includes(nameOf(route)) && !asksForToken.includes(nameOf(route));
      if (verdict !== (isOpen ? "allowed" : "sent to sign in")) wrong.push(`${nameOf(route)}: ${verdict}`);
    }
    expect(wrong).toEqual([]);
  });

  it.each(people)("gives a %s what the table says, and nothing else", async (role) => {
    const wrong: string[] = [];
    for (const route of routes) {
      if (route.needs === "public") continue;
      const verdict = verdictOn(await ask(route, role, true));
      const leaves = /sign-out/.test(route.path) && verdict === "sent to sign in";
      const expected = mayDo(role, route.needs) ? "allowed" : "role refused";
      if (verdict !== expected && !leaves) wrong.push(`${nameOf(route)} (${route.needs}): ${verdict}`);
    }
    expect(wrong).toEqual([]);
  });

  it.each(people)("refuses a form of a %s that lacks the session's token", async (role) => {
    const wrong: string[] = [];
    for (const route of routes) {
      if (route.method !== "POST" || route.needs === "public" || !mayDo(role, route.needs)) continue;
      const verdict = verdictOn(await ask(route, role, false));
      if (verdict !== "form refused") wrong.push(`${nameOf(route)}: ${verdict}`);
    }
    expect(wrong).toEqual([]);
  });

  it("together make use of every action in the table, but one that only says whose changes may be followed", () => {
    const needed = new Set(routes.map(({ needs }) => needs));
    expect(actions.filter((action) => !needed.has(action))).toEqual(["see-stock"]);
  });

  it("of a desk is for the people of that desk", () => {
    // Stated here a second time, on purpose: a slip in the table must not pass by agreeing with itself.
    const desks: readonly (readonly [under: RegExp, who: readonly Role[]])[] = [
      // Things that are done at more than one desk.
      [/^\/clinic\/people\/:id\/notes$/, ["coordinator", "clinician"]],
      [/^\/stores\/units\/:serial\/move$/, ["coordinator", "technician"]],
      [/^\/stores(\/|$)/, ["coordinator"]],
      [/^\/bench\/equipment(\/|$)/, ["technician", "administrator"]],
      [/^\/bench(\/|$)/, ["technician"]],
      [/^\/clinic(\/|$)/, ["clinician"]],
      [/^\/(staff|settings|audit)(\/|$)/, ["administrator"]],
      [/^\/(account|incidents|sign-out|live)(\/|$)|^\/$/, people],
    ];
    const wrong = routes.flatMap((route) => {
      if (route.needs === "public") return [];
      const { needs } = route;
      const desk = desks.find(([under]) => under.test(route.path));
      const may = people.filter((role) => mayDo(role, needs));
      const fits = desk !== undefined && may.every((role) => desk[1].includes(role)) && may.length > 0;
      return fits ? [] : [`${nameOf(route)} is open to ${may.join(", ")}`];
    });
    expect(wrong).toEqual([]);
  });
});
