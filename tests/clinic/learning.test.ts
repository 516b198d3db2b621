import { afterEach, beforeEach, describe, expect, it, test } from "vitest";
import { testRequestId } from "../../server/domain/ids.ts";
import { calibrationOf, type ScoredVerdict } from "../../server/domain/learning/calibration.ts";
import { learnedTable } from "../../server/domain/learning/learned-priors.ts";
import { foundBy, resultsOf } from "../../server/domain/learning/test-results.ts";
import { probability } from "../../server/domain/units.ts";
import { gapCauses, priorsFor } from "../../server/domain/verdicts/causes.ts";
import { gapTests, thinTests } from "../../server/domain/verdicts/settling-tests.ts";
import { createApp } from "../../server/http/app.ts";
import { askedTestRoutes } from "../../server/http/asked-tests.ts";
import { clinicRoutes } from "../../server/http/clinic-routes.tsx";
import { recordTestResult } from "../../server/programme/ask-for-test.ts";
import { learnedShares, sharesInForce } from "../../server/programme/learned-shares.ts";
import { recordLearned } from "../../server/programme/record-learned.ts";
import { changeSetting } from "../../server/store/settings.ts";
import { latestOutcomes } from "../../server/store/stretch-outcomes.ts";
import { openTestRequests } from "../../server/store/test-requests.ts";
import { currentVerdict } from "../../server/store/verdicts.ts";
import { cast, signedInAs, type TestServices, testServices } from "../support/cast.ts";
import { judged, recordedFortnight } from "./recorded-fortnight.ts";

const rules = { useLearnedShares: 1, learnedFrom: 3, documentedWorth: gapCauses.length };

describe("learned shares", () => {
  it("are those of the multinomial model with its conjugate prior", () => {
    // Gelman et al., Bayesian Data Analysis, 3rd ed., sec. 3.4 (from memory): the posterior mean of a share is
    // (alpha_j + y_j) / (sum of alpha + n).
    const outcomes = Array.from({ length: 8 }, () => ({
      table: "gap-day" as const,
      side: "link" as const,
      cause: "home-link",
    }));
    const { learned, documented } = learnedTable("gap-day", outcomes, { ...rules, documentedWorth: 12 });
    const home = gapCauses.findIndex(({ id }) => id === "home-link");
    expect(learned[home]).toBeCloseTo((12 * (documented[home] ?? 0) + 8) / 20, 12);
    expect(learned.reduce((sum, share) => sum + share, 0)).toBeCloseTo(1, 12);
  });

  it("divide an outcome of which only the side is known by the documented shares of its causes", () => {
    const { counts } = learnedTable("gap-long", [{ table: "gap-long", side: "device", cause: null }], rules);
    const device = counts.filter((_, index) => gapCauses[index]?.side === "device");
    expect(device.reduce((sum, part) => sum + part, 0)).toBeCloseTo(1, 12);
    expect(counts.filter((part) => part > 0)).toHaveLength(device.length);
  });

  it("take effect from the stated count on and not before, and not at all where that is chosen", () => {
    const one = { table: "thin" as const, side: "device" as const, cause: "line-dead" };
    expect(learnedTable("thin", [one, one], rules).inForce).toBe(false);
    expect(learnedTable("thin", [one, one, one], rules).inForce).toBe(true);
    expect(learnedTable("thin", [one, one, one], { ...rules, useLearnedShares: 0 }).inForce).toBe(false);
  });
});

describe("a calibration", () => {
  const scored = (
    sides: readonly [number, number, number, number],
    side: ScoredVerdict["side"],
  ): ScoredVerdict => {
    const [device, link, handling, person] = sides.map(probability);
    if (device === undefined || link === undefined || handling === undefined || person === undefined)
      throw new Error("four sides");
    const shares = { device, link, handling, person };
    const most = Math.max(...sides);
    const leadingSide = device === most ? "device" : link === most ? "link" : "handling";
    return {
      side,
      cause: null,
      held: { outcome: leadingSide, leadingSide, probability: probability(most), sides: shares, causes: [] },
    };
  };

  it("has the Brier score of a worked example", () => {
    // Brier 1950: mean over cases of the sum over classes of the squared error; the example's log loss was computed
    // by scikit-learn, its score is 0.287 by hand. The fourth side is empty in it.
    const classes = ["device", "link", "handling"] as const;
    const forecasts = [
      [0.7, 0.2, 0.1],
      [0.1, 0.6, 0.3],
      [0.2, 0.2, 0.6],
      [0.5, 0.3, 0.2],
      [0.05, 0.05, 0.9],
    ] as const;
    const truth = [0, 1, 2, 1, 2];
    const verdicts = forecasts.map(([a, b, c], index) =>
      scored([a, b, c, 0], classes[truth[index] ?? 0] ?? "device"),
    );
    const { brier, overturned, confusedSides } = calibrationOf(verdicts);
    expect(brier).toBeCloseTo(0.287, 9);
    expect(overturned).toBe(1);
    expect(confusedSides).toEqual([{ said: "device", was: "link", times: 1 }]);
  });

  it("gives each band of certainty its count and the score interval of a published table", () => {
    const verdicts = Array.from({ length: 263 }, (_, index) =>
      scored([0.9, 0.1, 0, 0], index < 81 ? "device" : "link"),
    );
    const band = calibrationOf(verdicts).bands[2];
    // Newcombe 1998, Stat Med 17:857, Table I, method 3: 81 of 263 is 0.2553 to 0.3662.
    expect(band?.wasRight?.low).toBeCloseTo(0.2553, 4);
    expect(band?.wasRight?.high).toBeCloseTo(0.3662, 4);
  });
});

test("every result that teaches a cause is one that its test can have, and its cause is in the catalogue", () => {
  const known = [
    ["gap", "bench", "battery worn", "battery-worn"],
    ["gap", "bench", "electronics faulty", "electronics"],
    ["gap", "visit", "charging trouble", "charging"],
    ["gap", "visit", "relay trouble", "home-link"],
    ["gap", "visit", "put away", "switched-off"],
    ["thin", "bench", "grid fault", "line-dead"],
    ["thin", "lean-test", "sides swapped", "insert-moved"],
  ] as const;
  for (const [kind, testName, result, cause] of known) {
    expect(resultsOf(kind, testName)).toContain(result);
    expect(foundBy(kind, testName, result)?.cause).toBe(cause);
  }
  for (const [kind, tests] of [["gap", gapTests] as const, ["thin", thinTests] as const])
    for (const { test: name } of tests) expect(foundBy(kind, name, "no such result")).toBeNull();
});

describe("what was found out", () => {
  let services: TestServices;
  let gap: ReturnType<typeof recordedFortnight>["gap"];
  beforeEach(async () => {
    services = testServices();
    ({ gap } = recordedFortnight(services));
    await judged(services);
  });
  afterEach(() => services.close());
  const clinician = { kind: "staff", id: cast.clinician.id } as const;
  const app = () =>
    createApp(services, [...clinicRoutes(services), ...askedTestRoutes(services)], {
      baseUrl: "http://localhost",
    });
  const post = (path: string, who: "clinician" | "technician", fields: Record<string, string>) =>
    app().request(path, signedInAs(services, who).post(fields));

  test("a bench test asked for stands on the bench's list, and its result teaches the cause and scores the verdict", async () => {
    await post(`/clinic/gaps/${gap}/tests`, "clinician", { test: "bench" });
    await post(`/clinic/gaps/${gap}/tests`, "clinician", { test: "bench" });
    const [asked, ...more] = openTestRequests(services.db, "bench");
    expect(more).toEqual([]);
    await post(`/bench/tests/${asked?.id}`, "technician", { result: "battery worn" });
    expect(openTestRequests(services.db, "bench")).toEqual([]);
    const [outcome] = latestOutcomes(services.db);
    expect(outcome).toMatchObject({ source: "bench", side: "device", cause: "battery-worn" });
    expect(outcome?.held?.sides).toBeDefined();
    const page = await (
      await app().request(`/clinic/gaps/${gap}`, { headers: signedInAs(services, "clinician").headers })
    ).text();
    expect(page).toContain("it showed: battery worn");
  });

  test("what it showed is evidence: the stretch is judged again with it, and that test is not offered again", async () => {
    const before = currentVerdict(services.db, gap)?.verdict;
    await post(`/clinic/gaps/${gap}/tests`, "clinician", { test: "bench" });
    const [asked] = openTestRequests(services.db, "bench");
    services.clock.move(60_000);
    await post(`/bench/tests/${asked?.id}`, "technician", { result: "battery worn" });
    const after = currentVerdict(services.db, gap)?.verdict;
    const worn = (held: typeof before) =>
      held?.causes.find(({ cause }) => cause === "battery-worn")?.probability ?? 0;
    expect(worn(after)).toBeGreaterThan(5 * worn(before));
    expect(after?.evidence.some(({ sentence }) => sentence.includes("Measured on the bench"))).toBe(true);
    expect(after?.settle.map(({ test: name }) => name)).not.toContain("bench");
    await judged(services);
    expect(currentVerdict(services.db, gap)?.verdict).toEqual(after);
  });

  test("a test for another desk can't be answered here, nor twice, nor with anything it can't show", async () => {
    await post(`/clinic/gaps/${gap}/tests`, "clinician", { test: "visit" });
    const id = openTestRequests(services.db, "stores")[0]?.id ?? testRequestId("none");
    const answer = (desk: "stores" | "bench", result: string) =>
      recordTestResult(services, clinician, { id, desk, result });
    expect(await answer("bench", "put away")).toMatchObject({ rule: "not-your-desk" });
    expect(await answer("stores", "a dragon")).toMatchObject({ rule: "no-such-result" });
    expect(await answer("stores", "nothing to see")).toEqual({ kind: "recorded" });
    expect(await answer("stores", "put away")).toMatchObject({ rule: "already-done" });
    expect(latestOutcomes(services.db)).toEqual([]);
  });

  test("a bare agreement teaches nothing; a side said does, and the last word on a stretch is the one counted", async () => {
    const say = (side: "link" | "handling" | null, cause: string | null = null) =>
      recordLearned(services, clinician, { stretch: gap, agrees: true, side, cause, text: "They told me." });
    await say(null);
    expect(latestOutcomes(services.db)).toEqual([]);
    await say("link");
    services.clock.move(60_000);
    await say("handling", "switched-off");
    expect(latestOutcomes(services.db)).toMatchObject([{ side: "handling", cause: "switched-off" }]);
    expect(await say("link", "switched-off")).toMatchObject({ rule: "cause-of-another-side" });
  });

  test("learned shares are in force past the count, and one setting goes back to the documented ones", async () => {
    const set = (name: "learnedFrom" | "useLearnedShares", value: number) =>
      changeSetting(services.db, { name, value, at: services.clock.now(), by: cast.clinician.id });
    set("learnedFrom", 1);
    expect(sharesInForce(services.db)("gap-short")).toEqual(priorsFor("gap-short"));
    await recordLearned(services, clinician, { stretch: gap, agrees: false, side: "link", text: "Router." });
    expect(sharesInForce(services.db)("gap-short")).not.toEqual(priorsFor("gap-short"));
    expect(learnedShares(services.db).filter(({ inForce }) => inForce)).toHaveLength(1);
    set("useLearnedShares", 0);
    expect(sharesInForce(services.db)("gap-short")).toEqual(priorsFor("gap-short"));
  });

  test("with too little found out the page says so, and how much it takes", async () => {
    const { headers } = signedInAs(services, "clinician");
    const page = await (await app().request("/clinic/calibration", { headers })).text();
    expect(page).toContain("Not enough learned yet: 0 of the 10");
  });
});
