import { describe, expect, it } from "vitest";
import type { Fault } from "../../scripts/simulated-cushions/faults.ts";
import { day, hour } from "../../scripts/simulated-cushions/wall-clock.ts";
import { isHazard } from "../../server/domain/condition/condition-of.ts";
import { findingsOf } from "../../server/domain/condition/findings/findings-of.ts";
import { live, start, steadyPerson } from "../simulated-cushions/cast.ts";
import { healthOf } from "./recorded.ts";

const days = 4;
const from = start + 6 * hour;
const neverCharges = { atBedtime: 0, daytime: [] };

async function found(faults: readonly Fault[], options: Partial<Parameters<typeof live>[0]> = {}) {
  const lived = live({ days, ...options, spec: { faults, ...options.spec } });
  return findingsOf(await healthOf(lived, start, days)).found;
}
const kinds = async (...told: Parameters<typeof found>) => (await found(...told)).map(({ kind }) => kind);

describe("what a unit tells of its cell and itself becomes a finding", () => {
  it("none of it where nothing is wrong", async () => {
    const told = ["self-test-failed", "charge-heat", "charge-cold", "charge-outside-limits", "early-cut-off"];
    const sound = await kinds([]);
    expect(sound.filter((kind) => told.includes(kind) || kind.startsWith("wet"))).toEqual([]);
  });

  it("a hot cell that waits on the charger is a hazard, act now, with its words of caution", async () => {
    const heat = (await found([{ kind: "charge-heat", from, celsius: 34 }])).find(
      ({ kind }) => kind === "charge-heat",
    );
    expect(heat?.level).toBe("act-now");
    expect(heat && isHazard(heat.kind)).toBe(true);
    expect(heat?.sentence).toContain("Stop charging");
  });

  it("a charger in the cold is no hazard: a call puts it right", async () => {
    const cold = (
      await found([{ kind: "cold-place", from: start, until: start + 9 * day, celsius: -4 }])
    ).find(({ kind }) => kind === "charge-cold");
    expect(cold?.level).toBe("act-soon");
    expect(cold && isHazard(cold.kind)).toBe(false);
  });

  it("a cut-off with charge left is told from one of an empty cell", async () => {
    const person = { ...steadyPerson, habits: { ...steadyPerson.habits, charging: neverCharges } };
    expect(await kinds([{ kind: "early-cut-off", from, millivolts: 3_950 }], { person })).toContain(
      "early-cut-off",
    );
    const battery = { ratedMilliampHours: 1_200, health: 0.97, charge: 0.2 };
    const emptied = await kinds([], { person, spec: { battery } });
    expect(emptied).toContain("flat-battery");
    expect(emptied).not.toContain("early-cut-off");
  });

  it("wet while it is charged is a hazard of its own", async () => {
    const wet: Fault = { kind: "wet", from: start, until: start + 8 * hour };
    const told = await kinds([wet]);
    expect(told).toContain("wet-on-charge");
  });

  it("one fault is one finding: what ordinary use has shown, the self-test doesn’t say again", async () => {
    const told = await kinds([{ kind: "column-open", from, column: 6 }]);
    expect(told).toContain("column-open");
    expect(told).not.toContain("self-test-failed");
  });

  it("a failed self-test names the line, counted from one, and clears once one passes", async () => {
    const health = await healthOf(live({ days, spec: { faults: [] } }), start, days);
    const [sound] = health.selfTests;
    if (sound === undefined) throw new Error("no self-test");
    const failing = { ...sound, passed: false, failedColumns: [6] };
    const judged = (...selfTests: (typeof sound)[]) =>
      findingsOf({ ...health, selfTests }).found.filter(({ kind }) => kind === "self-test-failed").length;
    const sentences = (...selfTests: (typeof sound)[]) =>
      findingsOf({ ...health, selfTests }).found.map(({ sentence }) => sentence);
    expect(sentences(sound, failing, failing).join()).toContain("failed 2 times running: column 7.");
    expect(judged(sound, failing)).toBe(1);
    expect(judged(failing, sound)).toBe(0);
    expect(findingsOf({ ...health, selfTests: [sound] }).judged.has("self-test-failed")).toBe(true);
  });
});
