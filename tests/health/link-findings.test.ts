import { beforeAll, describe, expect, it } from "vitest";
import { findingsOf } from "../../server/domain/condition/findings/findings-of.ts";
import type { UnitHealth } from "../../server/domain/condition/unit-health.ts";
import { type LinkSpan, linkQuality } from "../../server/domain/link/link-quality.ts";
import { instant, millisecondsIn } from "../../server/domain/units.ts";
import { live, start } from "../simulated-cushions/cast.ts";
import { healthOf } from "./recorded.ts";

const day = 24 * millisecondsIn.hour;
const days = 28;
const over = { start: instant(start), end: instant(start + days * day) };
let sound: UnitHealth;

beforeAll(async () => {
  sound = await healthOf(live({ days: 2, seed: "link" }), start, 2);
});

interface Told {
  readonly signal?: (day: number) => number;
  readonly back?: (day: number) => number;
  readonly relayStarts?: number;
}

/** Counted by −dBm, as a day keeps them. */
function signalsAt(level: number): Uint16Array {
  const counted = new Uint16Array(128);
  counted[Math.round(-level)] = 600;
  return counted;
}

/** What is found where each of 28 days told so. */
function foundOf({ signal = () => -60, back = () => 1, relayStarts = 0 }: Told) {
  const spans = Array.from({ length: days }, (_, index): LinkSpan => {
    const from = instant(start + index * day);
    return {
      span: { start: from, end: instant(from + day) },
      counts: {
        minutes: 600,
        withoutRelay: 0,
        signals: signalsAt(signal(index)),
        delays: new Uint16Array(800),
      },
      relay: { relays: [], changes: 0, relayStarts, linkLost: 0, backInTouch: back(index) },
      clock: [],
    };
  });
  const link = linkQuality(over, spans, { boots: [], holes: [], faults: [], cells: [] });
  return findingsOf({ ...sound, link }).found;
}

const kinds = (told: Told): readonly string[] => foundOf(told).map(({ kind }) => kind);

describe("the signal", () => {
  it("that falls steadily by two decibels a week is found, with how fast and what else it may be", () => {
    const found = foundOf({ signal: (index) => -60 - (2 * index) / 7 }).find(
      ({ kind }) => kind === "signal-fading",
    );
    expect(found?.level).toBe("watch");
    expect(found?.sentence).toMatch(/falls by [12]\.\d to [23]\.\d dB a week/);
    expect(found?.mistakenFor).toContain("stands elsewhere");
  });

  it("that only swings, rises, or falls by less than a doorway does is none", () => {
    expect(kinds({ signal: (index) => -60 + 8 * Math.sin(index) })).not.toContain("signal-fading");
    expect(kinds({ signal: (index) => -60 + (2 * index) / 7 })).not.toContain("signal-fading");
    expect(kinds({ signal: (index) => -60 - (0.7 * index) / 7 })).not.toContain("signal-fading");
  });
});

describe("a link", () => {
  it("that came back thirty times in one day is found, once, from that day on; twenty times is none", () => {
    const [first, ...more] = foundOf({ back: (index) => (index === 9 ? 30 : 2) }).filter(
      ({ kind }) => kind === "link-comes-and-goes",
    );
    expect(more).toEqual([]);
    expect(first?.since).toBe(start + 9 * day);
    expect(first?.sentence).toContain("30 times in one day, 84 times in all");
    expect(kinds({ back: () => 20 })).not.toContain("link-comes-and-goes");
  });

  it("is put down to the relay's supply first where the relay itself had been off", () => {
    const settledBy = (relayStarts: number) =>
      foundOf({ back: () => 30, relayStarts }).find(({ kind }) => kind === "link-comes-and-goes")?.settledBy;
    expect(settledBy(1)).toMatch(/relay’s own supply/);
    expect(settledBy(0)).toMatch(/relay nearer for a day/);
  });
});
