import { describe, expect, it } from "vitest";
import {
  changedPlaces,
  identityTroubles,
  type LoanSits,
} from "../../server/domain/identity-trouble/identity-trouble.ts";
import { ownSitting } from "../../server/domain/identity-trouble/own-sitting.ts";
import { type SitSummary, sitSummaries } from "../../server/domain/identity-trouble/sit-summaries.ts";
import type { RecordedMinute } from "../../server/domain/record/unit-record.ts";
import { celsius, instant, kilograms, millivolts } from "../../server/domain/units.ts";
import { seededChance } from "../support/cast.ts";

const hour = 3_600_000;
const day = 24 * hour;
const lately = instant(21 * day);

function drawing(seed: string): () => number {
  const chance = seededChance(seed);
  const uniform = () => chance.bytes(4).reduce((sum, byte) => (sum + byte) / 256, 0);
  // Sum of twelve uniforms: close enough to a normal deviate.
  return () => Array.from({ length: 12 }, uniform).reduce((sum, value) => sum + value, -6);
}

type Body = { readonly load: number; readonly right: number; readonly front: number; readonly stir?: number };
const person: Body = { load: 62, right: 4, front: -6 };

/** Five sits a day for four weeks; `who` may put somebody else on it. */
function sitsOf(
  seed: string,
  who: (day: number, sit: number) => Body = () => person,
  of = person,
): SitSummary[] {
  const normal = drawing(seed);
  return Array.from({ length: 28 * 5 }, (_, index) => {
    const body = index < 21 * 5 ? of : who(Math.floor(index / 5), index % 5);
    const start = Math.floor(index / 5) * day + (8 + 2.5 * (index % 5)) * hour;
    return {
      start: instant(start),
      end: instant(start + 2 * hour),
      load: body.load * (1 + 0.03 * normal()),
      right: body.right + 4 * normal(),
      front: body.front + 4 * normal(),
      stir: body.stir ?? 0.6,
    };
  });
}
const kinds = (sits: readonly SitSummary[]) => identityTroubles(sits, lately).map(({ kind }) => kind);

describe("whose record it is", () => {
  it("is not asked about a person who sits as ever, in 200 people's four weeks", () => {
    const asked = Array.from({ length: 200 }, (_, index) => kinds(sitsOf(`as ever ${index}`))).flat();
    expect(asked).toEqual([]);
  });

  it("is not asked where somebody slowly loses weight", () => {
    const sits = sitsOf("thinner").map((sit) => ({
      ...sit,
      load: sit.load * (1 - (0.04 * sit.start) / (28 * day)),
    }));
    expect(kinds(sits)).toEqual([]);
  });

  it("is asked where every sit since a day is by another body", () => {
    const sits = sitsOf("swapped", () => ({ load: 85, right: -2, front: 3 }));
    expect(kinds(sits)).toEqual(["swapped"]);
    expect(identityTroubles(sits, lately)[0]?.evidence[0]).toContain(
      "about 85 kg, this person's own load is 62 kg",
    );
  });

  it("is asked where two bodies sit on it in turn", () => {
    const sits = sitsOf("two", (_, sit) => (sit === 3 ? { load: 88, right: 0, front: 0 } : person));
    expect(kinds(sits)).toEqual(["two-people"]);
  });

  it("is asked where a bag lay on it, and a light person who stirs is no bag", () => {
    const bag = { load: 9, right: 0, front: 0, stir: 0.02 };
    expect(kinds(sitsOf("bag", (_, sit) => (sit === 4 ? bag : person)))).toEqual(["object"]);
    expect(kinds(sitsOf("child", (_, sit) => (sit === 4 ? { ...bag, stir: 0.5 } : person)))).toEqual([
      "two-people",
    ]);
  });

  it("is asked where the same body lies elsewhere on it some of the time", () => {
    const sits = sitsOf("sofa", (_, sit) => (sit === 4 ? { ...person, front: 55 } : person));
    expect(kinds(sits)).toEqual(["other-seat"]);
  });

  it("finds two homes that changed places, and no others", () => {
    const other = { load: 88, right: 0, front: 2 };
    const split = (sits: readonly SitSummary[]): LoanSits => {
      const own = ownSitting(sits.filter(({ start }) => start < lately));
      if (!own) throw new Error("too few sits");
      return { own, recent: sits.filter(({ start }) => start >= lately) };
    };
    const one = split(sitsOf("home a", () => other));
    const two = split(sitsOf("home b", () => person, other));
    const third = split(sitsOf("home c", () => other, { load: 104, right: 0, front: 0 }));
    expect(changedPlaces(one, two)).toBe(true);
    expect(changedPlaces(one, third)).toBe(false);
  });
});

describe("a sit", () => {
  const minute = (at: number, seat: RecordedMinute["seat"], load: number): RecordedMinute => ({
    at: instant(at * 60_000),
    receivedAt: instant(at * 60_000),
    boot: 1,
    seat,
    load: kilograms(load),
    centreRight: 0,
    centreFront: 0,
    cell: millivolts(3_900),
    power: "on-battery",
    temperature: celsius(30),
    signal: null,
  });

  it("goes on over a minute off, and a short one is none", () => {
    const minutes = [
      ...Array.from({ length: 20 }, (_, at) => minute(at, "loaded", 60 + (at % 2))),
      minute(20, "empty", 0),
      ...Array.from({ length: 20 }, (_, at) => minute(21 + at, "loaded", 60)),
      ...Array.from({ length: 30 }, (_, at) => minute(41 + at, "empty", 0)),
      ...Array.from({ length: 5 }, (_, at) => minute(71 + at, "loaded", 60)),
    ];
    expect(sitSummaries(minutes).map(({ start, end }) => [start / 60_000, end / 60_000])).toEqual([[0, 41]]);
  });
});
