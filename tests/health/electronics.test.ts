import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { capacityOf } from "../../server/domain/battery/capacity.ts";
import {
  type CellDescription,
  describedCell,
  usualCell,
} from "../../server/domain/battery/cell-description.ts";
import type { ChargeSession, Discharge } from "../../server/domain/battery/charge-history.ts";
import { atTwentyFive, internalResistance } from "../../server/domain/battery/internal-resistance.ts";
import { usualChargeTime } from "../../server/domain/battery/usual-charge-time.ts";
import { findingsOf } from "../../server/domain/condition/findings/findings-of.ts";
import { relayDay, relayHistory } from "../../server/domain/link/relay-day.ts";
import { restartsOf } from "../../server/domain/link/restarts.ts";
import type { RecordedGreeting, RelayHeartbeat } from "../../server/domain/record/told-events.ts";
import type { RecordedBoot, RecordedFault, ResetReason } from "../../server/domain/record/unit-record.ts";
import { zoneName } from "../../server/domain/time/local-day.ts";
import { celsius, decibelMilliwatts, hours, instant, milliampHours } from "../../server/domain/units.ts";
import { live, soundCushion, start, steadyHabits, steadyPerson } from "../simulated-cushions/cast.ts";
import { healthOf } from "./recorded.ts";

const day = 86_400_000;
const hour = 3_600_000;
const kinds = (health: Parameters<typeof findingsOf>[0]) => findingsOf(health).found.map(({ kind }) => kind);

describe("internal resistance", () => {
  // Law of Arrhenius at 25 kJ/mol, worked by hand: exp(25000 / 8.314 * (1/283.15 - 1/298.15)) = 1.706.
  it("is told as it would be at 25 degrees: what a cell shows at 10 degrees is 1.71 times that", () => {
    expect(0.12 / atTwentyFive({ ohms: 0.12, temperature: celsius(10) })).toBeCloseTo(1.706, 2);
    expect(atTwentyFive({ ohms: 0.12, temperature: celsius(25) })).toBeCloseTo(0.12, 12);
  });

  it("needs ten bursts before the last are compared with the first", () => {
    const steps = Array.from({ length: 9 }, (_, index) => ({
      at: instant(start + index * day),
      ohms: 0.12,
      temperature: celsius(24),
    }));
    expect(internalResistance([])).toBeNull();
    expect(internalResistance(steps)?.ratio).toBeNull();
  });

  it("of a sound unit is near the truth, and no finding; of a plug that wore it is a finding", async () => {
    const sound = await healthOf(live({ days: 24, seed: "plug" }), start, 24);
    const truth = 0.12 * (1 + 3 * (1 - soundCushion.battery.health));
    expect(Math.abs((sound.battery?.resistance?.now ?? 0) / truth - 1)).toBeLessThan(0.1);
    expect(kinds(sound)).not.toContain("resistance-rise");

    const faults = [{ kind: "worn-plug", from: start + 12 * day, ohms: 0.2 }] as const;
    const worn = await healthOf(live({ days: 24, seed: "plug", spec: { faults } }), start, 24);
    const found = findingsOf(worn).found.find(({ kind }) => kind === "resistance-rise");
    expect(found?.level).toBe("act-soon");
    expect(found?.since).toBeGreaterThan(start + 12 * day);
  });
});

describe("a model's description", () => {
  const run = (index: number): Discharge => ({
    start: instant(start + index * day),
    end: instant(start + index * day + 10 * hour),
    from: 0.9,
    to: 0.4,
    loaded: hours(30),
    empty: hours(20),
    searching: hours(0),
  });
  const of = (cell: CellDescription) => capacityOf([0, 1, 2, 3].map(run), cell);

  it("says what the unit draws and what its cell is rated at: no make's figures are in the computation", () => {
    const usual = of(usualCell)?.ofRated.best ?? 0;
    const thirsty = describedCell({
      ratedCapacity: milliampHours(2_400),
      draw: { loaded: 26, empty: 8 },
    });
    expect(of(thirsty)?.ofRated.best).toBeCloseTo(usual, 6);
    expect(of(thirsty)?.now.best).toBeCloseTo(2 * (of(usualCell)?.now.best ?? 0), 3);
    expect(describedCell({ ratedCapacity: milliampHours(900), draw: { empty: 6 } }).draw).toEqual({
      ...usualCell.draw,
      empty: 6,
    });
  });
});

describe("restarts", () => {
  const boot = (at: number, reset: ResetReason): RecordedBoot => ({
    at: instant(at),
    receivedAt: instant(at),
    boot: at / hour,
    reset,
    firmware: "1.0.0",
    hardware: "A",
    clockSet: true,
    rows: 8,
    columns: 8,
    queued: 0,
  });
  const cutOff = (at: number): RecordedFault => ({
    at: instant(at),
    receivedAt: instant(at),
    code: "battery-cut-off",
    detail: "",
  });

  it("after a flat cell are the battery's, however many; the same without a cut-off are a loop", () => {
    const boots = [1, 2, 3, 4, 5, 6, 7].map((index) => boot(index * 10 * hour, "brown-out"));
    const faults = boots.map(({ at }) => cutOff(at - hour));
    const flat = restartsOf(boots, faults, []);
    expect([flat.afterFlat, flat.unwanted, flat.firstUnwantedAt]).toEqual([7, 0, null]);
    expect(restartsOf(boots, [], []).unwantedBy.get("brown-out")).toBe(7);
    // Older firmware tells of no cut-off: the voltage it last told does.
    const cells = boots.map(({ at }) => ({ at: instant(at - hour), millivolts: 3_180 }));
    expect(restartsOf(boots, [], cells).unwanted).toBe(0);
    expect(
      restartsOf(
        boots,
        [],
        cells.map((cell) => ({ ...cell, millivolts: 3_700 })),
      ).unwanted,
    ).toBe(7);
  });

  it("by the watchdog stay a loop even where the cell ran flat the same day", () => {
    const boots = [1, 2, 3].map((index) => boot(index * 10 * hour, "watchdog"));
    expect(
      restartsOf(
        boots,
        boots.map(({ at }) => cutOff(at - hour)),
        [],
      ).unwanted,
    ).toBe(3);
  });

  it("of a simulated unit that is charged too late again and again raise flat battery and no loop", async () => {
    const seldom = {
      ...steadyPerson,
      habits: { ...steadyHabits, charging: { atBedtime: 0.35, daytime: [] } },
    };
    const battery = { ...soundCushion.battery, health: 0.16 };
    const health = await healthOf(
      live({ days: 27, person: seldom, seed: "late charges", spec: { battery } }),
      start,
      27,
    );
    expect(health.link.restarts.afterFlat).toBeGreaterThanOrEqual(6);
    expect(kinds(health)).toContain("flat-battery");
    expect(kinds(health)).not.toContain("reset-loop");
  });
});

describe("relays", () => {
  const named = { receivedAt: instant(0), boot: 1, sequence: 5 };
  const heard = (at: number, relay: string, more: Partial<RelayHeartbeat> = {}): RelayHeartbeat => ({
    ...named,
    at: instant(at),
    relay,
    relayStartedAt: instant(-day),
    link: "up",
    signal: decibelMilliwatts(-60),
    ...more,
  });
  const greeting = (at: number, sequence: number): RecordedGreeting => ({
    ...named,
    at: instant(at),
    sequence,
    reset: "power-on",
    firmware: "1.0.0",
    hardware: "A",
    queued: 0,
    oldestUnsent: null,
    storeCapacity: null,
    certificateEnds: null,
    relay: null,
  });

  it("are told apart by name, with their own starts and lost links; a start of the unit is no coming back", () => {
    const first = relayDay(
      [heard(0, "R-1"), heard(hour, "R-1", { link: "down" }), heard(2 * hour, "R-2")],
      [greeting(0, 0), greeting(hour, 9), greeting(2 * hour, 12)],
    );
    expect(first).toMatchObject({ changes: 1, linkLost: 1, relayStarts: 0, backInTouch: 2 });
    const second = relayDay([heard(day, "R-1", { relayStartedAt: instant(day - hour) })], []);
    const all = relayHistory([
      { start: instant(0), relay: first },
      { start: instant(day), relay: second },
    ]);
    expect(all).toMatchObject({ changes: 2, backInTouch: 2, busiest: { times: 2 } });
    expect(all.relays.map(({ name, last }) => [name, last])).toEqual([
      ["R-1", day],
      ["R-2", 2 * hour],
    ]);
  });
});

describe("the usual time of charging", () => {
  const zone = zoneName("Europe/London");
  const session = (at: number): ChargeSession => ({
    start: instant(at),
    end: instant(at + hour),
    ended: "full",
  });

  it("is told across midnight, where a plain average would say noon", () => {
    if (zone === null) throw new Error("no such zone");
    const midnight = Date.UTC(2026, 0, 5);
    const sessions = [-1, 1, -0.5, 0.5].map((off, index) => session(midnight + index * day + off * hour));
    expect(usualChargeTime(sessions, zone)?.minute).toBeOneOf([0, 1_439]);
  });

  it("is nobody's where charges begin at all hours", () => {
    if (zone === null) throw new Error("no such zone");
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 1_439 }), (minute) => {
        const from = Date.UTC(2026, 0, 5) + minute * 60_000;
        const sessions = [0, 1, 2, 3, 4, 5, 6, 7].map((index) => session(from + index * (day + 3 * hour)));
        expect(usualChargeTime(sessions, zone)).toBeNull();
      }),
    );
  });
});
