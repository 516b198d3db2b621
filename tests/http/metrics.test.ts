import { Hono } from "hono";
import { describe, expect, it } from "vitest";
import { readConfig } from "../../server/config.ts";
import { metricsRoutes } from "../../server/http/metrics-routes.ts";
import type { AppEnv } from "../../server/http/route.ts";

const token = "a-token-of-the-operators-own";

function asked(authorization: string | null) {
  const app = new Hono<AppEnv>();
  for (const { path, handle } of metricsRoutes({ token, render: () => "ingest_commits_total 7\n" }))
    app.get(path, handle);
  return app.request("/metrics", { headers: authorization === null ? {} : { authorization } });
}

describe("the figures for a scraper", () => {
  it("are given to whoever carries the token, as text of the exposition format", async () => {
    const answer = await asked(`Bearer ${token}`);
    expect(answer.status).toBe(200);
    expect(answer.headers.get("content-type")).toBe("text/plain; version=0.0.4; charset=utf-8");
    expect(await answer.text()).toBe("ingest_commits_total 7\n");
  });

  it.each([null, "Bearer ", `Bearer ${token}x`, `Basic ${token}`, token, `Bearer ${token} ${token}`])(
    "are refused to %j",
    async (authorization) => {
      const answer = await asked(authorization);
      expect(answer.status).toBe(401);
      expect(answer.headers.get("www-authenticate")).toBe("Bearer");
      expect(await answer.text()).not.toContain("ingest");
    },
  );

  it("aren't offered where the operator has set no token, and a short one is no token", () => {
    expect(metricsRoutes(null)).toEqual([]);
    expect(readConfig({ METRICS_TOKEN: "" })).toMatchObject({ ok: true });
    expect(readConfig({ METRICS_TOKEN: "short" })).toMatchObject({
      ok: false,
      message: expect.stringContaining("METRICS_TOKEN"),
    });
    expect(readConfig({ METRICS_TOKEN: token })).toMatchObject({ ok: true, config: { metricsToken: token } });
  });
});
