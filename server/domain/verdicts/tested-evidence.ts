import { candidateTest, foundBy } from "../learning/test-results.ts";
import type { ZoneName } from "../time/local-day.ts";
import type { Instant } from "../units.ts";
import { catalogue } from "./causes.ts";
import type { Observation } from "./observation.ts";
import { spokenMoment } from "./spoken.ts";
import type { StretchKind } from "./verdict.ts";

/** A test that was asked for to settle a stretch, with what it showed. */
export interface TestDone {
  readonly test: string;
  readonly result: string;
  readonly at: Instant;
}

const testWords: Readonly<Record<string, string>> = {
  bench: "Measured on the bench",
  visit: "A visit",
  "lean-test": "A lean test at a visit",
};

/** What the bench or a visit showed, as evidence: by the very table that said what the test would be expected to tell. A
 *  result that names a cause is a sign of trouble outside the person: no cause gets a lower number than the person's, so
 *  that it can never make the person likelier. Of a test that was done twice the later result stands. */
export function testedObservations(
  kind: StretchKind,
  tests: readonly TestDone[],
  zone: ZoneName,
): Observation[] {
  const latest = new Map([...tests].sort((a, b) => a.at - b.at).map((one) => [one.test, one]));
  return [...latest.values()].flatMap(({ test, result, at }) => {
    const row = rowOf(kind, test, result);
    if (row === null) return [];
    return {
      clue: `tested-${test}`,
      values: [result],
      sentence: `${testWords[test] ?? test}, written down at ${spokenMoment(at, zone)}: ${result}.`,
      row,
    };
  });
}

/** P(result | cause), one number a cause; null: the test has no such result. */
function rowOf(kind: StretchKind, test: string, result: string): readonly number[] | null {
  const outcomes = candidateTest(kind, test)?.outcomes ?? {};
  const own = outcomes[result];
  if (!own) return null;
  const rows = Object.values(outcomes);
  const chances = own.map((part, cause) => part / rows.reduce((sum, row) => sum + (row[cause] ?? 0), 0));
  if (foundBy(kind, test, result) === null) return chances;
  const persons = chances.filter((_, cause) => catalogue(kind)[cause]?.side === "person");
  return chances.map((chance) => Math.max(chance, ...persons));
}
