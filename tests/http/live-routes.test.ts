import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { createApp } from "../../server/http/app.ts";
import { liveRoutes, topicsAllowed } from "../../server/http/live-routes.ts";
import type { LiveTopic } from "../../server/live.ts";
import { signedInAs, type TestServices, testServices } from "../support/cast.ts";

let services: TestServices;
let stopping: AbortController;
beforeEach(() => {
  services = testServices();
  stopping = new AbortController();
});
afterEach(() => services.close());

const app = () => {
  const options = { baseUrl: "http://localhost" };
  return createApp(services, liveRoutes(services, options, stopping.signal), options);
};

async function readerOf(topics: string, headers: Record<string, string> = {}) {
  const signedIn = signedInAs(services, "technician");
  const answer = await app().request(`/live?topics=${topics}`, {
    headers: { ...signedIn.headers, ...headers },
  });
  const reader = answer.body?.getReader();
  if (!reader) throw new Error("no stream");
  const next = async () => {
    const { done, value } = await reader.read();
    return done ? null : new TextDecoder().decode(value);
  };
  return { answer, next, leave: () => reader.cancel() };
}

describe("the event stream", () => {
  it("names what changed, and many changes between two reads are told once each", async () => {
    const reader = await readerOf("bench,unit:CU-000101");
    expect(reader.answer.headers.get("content-type")).toContain("text/event-stream");
    expect(await reader.next()).toBe("event: changed\ndata: \nid: 1\n\n");
    for (let i = 0; i < 1_000; i++) services.live.changed("bench", "unit:CU-000101", "stores");
    const told = (await reader.next()) ?? "";
    expect(told).toContain("event: changed");
    stopping.abort();
    const rest: string[] = [];
    for (let text = await reader.next(); text !== null; text = await reader.next()) rest.push(text);
    expect(rest.length).toBeLessThan(3);
  });

  it("tells a reader that comes back to look again", async () => {
    const reader = await readerOf("bench", { "last-event-id": "1" });
    expect(await reader.next()).toContain("event: changed");
    await reader.leave();
  });

  it("ends when the service stops, for hundreds of readers at once", async () => {
    const readers = await Promise.all(Array.from({ length: 300 }, () => readerOf("bench")));
    for (const reader of readers) await reader.next();
    services.live.changed("bench");
    for (const reader of readers) expect(await reader.next()).toContain("changed");
    stopping.abort();
    for (const reader of readers) expect(await reader.next()).toBeNull();
  });

  it.each([
    ["technician", "stores"],
    ["coordinator", "clinic"],
    ["clinician", "bench"],
    ["technician", "person:one"],
    ["coordinator", "stretch:one"],
    ["administrator", "unit:CU-000101"],
    ["coordinator", "certificates"],
    ["technician", "bench,stores"],
    ["technician", "unit:"],
    ["technician", ""],
  ] as const)("refuses a %s who asks for %j", (role, topics) => {
    expect(topicsAllowed(role, topics)).toBeNull();
  });

  it("lets each desk follow its own", () => {
    const own: readonly LiveTopic[] = ["clinic", "person:one", "stretch:two", "unit:CU-000101"];
    expect(topicsAllowed("clinician", own.join(","))).toEqual(own);
    expect(topicsAllowed("coordinator", "stores,loan:one")).toEqual(["stores", "loan:one"]);
  });
});
