import fc from "fast-check";
import { expect, test } from "vitest";
import { defaultSettings } from "../../server/domain/settings.ts";
import { probability } from "../../server/domain/units.ts";
import { decide } from "../../server/domain/verdicts/decide.ts";
import { harmTable, leastHarm } from "../../server/domain/verdicts/harm.ts";
import { sides } from "../../server/domain/verdicts/verdict.ts";

const shares = fc
  .tuple(...sides.map(() => fc.double({ min: 1e-6, max: 1, noNaN: true })))
  .map(([device = 0, link = 0, handling = 0, person = 0]) => {
    const all = device + link + handling + person;
    return {
      device: probability(device / all),
      link: probability(link / all),
      handling: probability(handling / all),
      person: probability(person / all),
    };
  });
const threshold = fc.double({ min: 0.501, max: 0.999, noNaN: true });

test("the least expected harm names a side exactly where its probability reaches its threshold", () => {
  fc.assert(
    fc.property(shares, threshold, threshold, (given, settledThreshold, settledThresholdPerson) => {
      const reached = sides.filter(
        (side) => given[side] >= (side === "person" ? settledThresholdPerson : settledThreshold),
      );
      const atTheEdge = sides.some(
        (side) =>
          Math.abs(given[side] - (side === "person" ? settledThresholdPerson : settledThreshold)) < 1e-9,
      );
      fc.pre(!atTheEdge);
      const { outcome, leadingSide } = decide(given, { settledThreshold, settledThresholdPerson }, false);
      expect(outcome).toBe(reached[0] ?? "not-settled");
      if (outcome !== "not-settled") expect(leadingSide).toBe(outcome);
    }),
  );
});

test("the reject rule of Chow 1970: with costs 1 and C, an answer is given from 1 - 1/C up", () => {
  // Chow 1970, as remembered, not re-read: reject where the largest posterior is below 1 - t, with t = (cost of a reject) / (cost of an error).
  const table = harmTable(defaultSettings);
  expect(table).toEqual({
    device: expect.closeTo(5, 9),
    link: expect.closeTo(5, 9),
    handling: expect.closeTo(5, 9),
    person: expect.closeTo(20, 9),
    "not-settled": 1,
  });
  const given = (person: number) => ({
    device: probability(1 - person),
    link: probability(0),
    handling: probability(0),
    person: probability(person),
  });
  expect(leastHarm(given(0.9499), table)).toBe("not-settled");
  expect(leastHarm(given(0.95), table)).toBe("person");
  expect(leastHarm(given(0.2), table)).toBe("device");
  expect(leastHarm(given(0.2001), table)).toBe("not-settled");
});
