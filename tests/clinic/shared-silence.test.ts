import { describe, expect, it } from "vitest";
import { loanId, unitSerial } from "../../server/domain/ids.ts";
import { logBinomialTail } from "../../server/domain/incidents/scan-statistic.ts";
import {
  type FleetUnit,
  isHeld,
  type Silence,
  sharedSilences,
} from "../../server/domain/incidents/shared-silence.ts";
import { instant } from "../../server/domain/units.ts";
import { seededChance } from "../support/cast.ts";

const minute = 60_000;
const hour = 60 * minute;
const day = 24 * hour;
/** One silence of its own a unit and day: windows of 20 min. */
const background = () => 1 / 72;

/** A drawn number from 0 to 1. */
function drawing(seed: string): () => number {
  const chance = seededChance(seed);
  return () => chance.bytes(4).reduce((sum, byte) => (sum + byte) / 256, 0);
}

/** 200 units in five areas, with silences of their own at random times of `days` days. */
function fleetOf(
  draw: () => number,
  days: number,
  also: (index: number) => Silence[] = () => [],
): FleetUnit[] {
  return Array.from({ length: 200 }, (_, index) => {
    const own: Silence[] = [];
    for (let at = -Math.log(1 - draw()) * day; at < days * day; at += -Math.log(1 - draw()) * day)
      own.push({ start: instant(at), end: instant(at + hour) });
    return {
      loan: loanId(`loan ${index}`),
      unit: unitSerial(`CU-${index}`),
      scopes: [
        { kind: "programme", name: "" },
        { kind: "area", name: `area ${index % 5}` },
        { kind: "lot", name: `lot ${index % 7}` },
      ],
      silences: [...own, ...also(index)],
    };
  });
}

describe("a binomial tail", () => {
  it.each([
    // SciPy 1.x: scipy.stats.binom.logsf(k - 1, n, p)
    [5, 40, 0.014, -8.354820340897486],
    [67, 200, 0.01, -185.1492724973293],
  ])("of %i or more of %i agrees with SciPy", (k, n, p, expected) => {
    expect(logBinomialTail(k, n, p)).toBeCloseTo(expected, 9);
  });
});

describe("many units silent at once", () => {
  it("are found within 5 minutes of the fifth silent unit, with what they share, in 99 of 100 outages", () => {
    let found = 0;
    for (let seed = 0; seed < 100; seed++) {
      const draw = drawing(`outage ${seed}`);
      const at = 20 * hour + draw() * 4 * hour;
      // Units report every 15 minutes, each at its own: the last record of each lies up to that long before the outage.
      const last = Array.from({ length: 200 }, () => at - draw() * 15 * minute);
      const inArea = last.filter((_, index) => index % 5 === 2).sort((a, b) => a - b);
      // A silence is one after 20 minutes; five minutes after the fifth became one, these are known.
      const knownTo = (inArea[4] ?? 0) + 5 * minute;
      const fleet = fleetOf(draw, 1, (index) => {
        const start = last[index] ?? 0;
        return index % 5 === 2 && start <= knownTo ? [{ start: instant(start), end: null }] : [];
      }).map((unit) => ({ ...unit, silences: unit.silences.filter(({ start }) => start <= knownTo) }));
      const [incident, ...others] = sharedSilences(fleet, background);
      if (incident?.scope.name === "area 2" && incident.end === null && others.length === 0) found += 1;
    }
    expect(found).toBeGreaterThanOrEqual(99);
  });

  it("are not found where there are none, but at most once in a fleet's year", () => {
    const draw = drawing("a quiet year");
    let incidents = 0;
    for (let two = 0; two < 365; two += 2) incidents += sharedSilences(fleetOf(draw, 2), background).length;
    expect(incidents).toBeLessThanOrEqual(1);
  });

  it("everywhere are put down to the programme, and it is over when four of five are back", () => {
    const fleet = fleetOf(drawing("all"), 0, (index) => [
      {
        start: instant(100 * hour + index * 1_000),
        end: index < 170 ? instant(103 * hour + index * minute) : null,
      },
    ]);
    const [incident] = sharedSilences(fleet, background);
    expect(incident?.scope).toEqual({ kind: "programme", name: "" });
    expect(incident?.units).toHaveLength(200);
    expect(incident?.end).toBe(103 * hour + 159 * minute);
  });

  it("hold a gap that began and ended with them, not one that goes on after they are back", () => {
    const incident = { start: instant(10 * hour), end: instant(12 * hour) };
    const start = instant(10 * hour + 5 * minute);
    expect(isHeld({ ...incident, end: null }, start, { start, end: null })).toBe(true);
    expect(isHeld(incident, start, { start, end: instant(12 * hour + 20 * minute) })).toBe(true);
    expect(isHeld(incident, start, { start, end: null })).toBe(false);
    expect(isHeld(incident, start, { start: instant(11 * hour), end: null })).toBe(false);
  });
});
