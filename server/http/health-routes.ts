import type { Route } from "./route.ts";

/** Each part the service can't do without, and whether it is usable now. A check that throws counts as not usable. */
export type ReadinessChecks = Readonly<Record<string, () => boolean>>;

/** `/healthz`: the process is alive. `/readyz`: it can do its work; names what it can't. */
export const healthRoutes = (checks: ReadinessChecks): readonly Route[] => [
  {
    method: "GET",
    path: "/healthz",
    needs: "public",
    handle: (context) => context.json({ alive: true }),
  },
  {
    method: "GET",
    path: "/readyz",
    needs: "public",
    handle: (context) => {
      const parts = Object.fromEntries(
        Object.entries(checks).map(([part, check]) => [part, usable(check) ? "ready" : "not ready"]),
      );
      const ready = Object.values(parts).every((state) => state === "ready");
      return context.json({ ready, parts }, ready ? 200 : 503);
    },
  },
];

function usable(check: () => boolean): boolean {
  try {
    return check();
  } catch {
    return false;
  }
}
