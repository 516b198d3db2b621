import type { Probability } from "../units.ts";
import type { Cause } from "./causes.ts";
import { mutualInformationBits } from "./posterior.ts";
import { type CandidateTest, gapTests, thinTests } from "./settling-tests.ts";
import { type SettlingTest, type Side, type StretchKind, sides } from "./verdict.ts";

/** What would settle whose side it is: every sensible test with the bits it is expected to tell about the side
 *  (exact mutual information), best per minute of effort first. */
export function rankTests(
  kind: StretchKind,
  ongoing: boolean,
  causes: readonly Cause[],
  shares: readonly number[],
  sideShares: Readonly<Record<Side, Probability>>,
): SettlingTest[] {
  const tests = kind === "gap" ? gapTests : thinTests;
  return tests
    .filter(({ when }) => when === "always" || (when === "ongoing") === ongoing)
    .map((test) => ({
      test: test.test,
      sentence: test.sentence,
      desk: test.desk,
      effortMinutes: test.effortMinutes,
      wording: test.test === "ring" ? phoneWording[kind] : null,
      expectedBits: mutualInformationBits(
        sides.map((side) => sideShares[side]),
        outcomesBySide(test, causes, shares, sideShares),
      ),
    }))
    .sort((a, b) => b.expectedBits / b.effortMinutes - a.expectedBits / a.effortMinutes);
}

/** P(outcome | side): the causes of the side, weighed by what the evidence leaves of them. */
function outcomesBySide(
  test: CandidateTest,
  causes: readonly Cause[],
  shares: readonly number[],
  sideShares: Readonly<Record<Side, Probability>>,
): number[][] {
  const rows = Object.values(test.outcomes);
  const whole = causes.map((_, column) => rows.reduce((sum, row) => sum + (row[column] ?? 0), 0));
  return rows.map((row) =>
    sides.map((side) => {
      if (sideShares[side] === 0) return 1 / rows.length;
      const joint = causes.reduce(
        (sum, cause, column) =>
          cause.side === side
            ? sum + ((shares[column] ?? 0) * (row[column] ?? 0)) / (whole[column] ?? 1)
            : sum,
        0,
      );
      return joint / sideShares[side];
    }),
  );
}

/** Ready to be read out. Asks one open question, says what the programme itself could not see, suggests no fault. */
const phoneWording: Record<StretchKind, string> = {
  gap: "“Hello, it's about the cushion, nothing to worry about. There is a stretch we couldn't see from here, and that is often the equipment or the connection. Was anything different around then? … Thank you, that helps. Is your skin all right, and the cushion comfortable?”",
  thin: "“Hello, it's about the cushion, nothing to worry about. Fewer reliefs were recorded lately, and sometimes that is the sensor rather than anything else. Has anything about sitting or moving felt different? … Thank you, that helps. Any soreness, or trouble with your shoulders? Is your skin all right?”",
};
