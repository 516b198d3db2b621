import { type Answer, expectedHarm, type HarmTable } from "../../server/domain/verdicts/harm.ts";
import { sides, type Verdict } from "../../server/domain/verdicts/verdict.ts";
import { sideNames } from "./side-words.ts";

const answers: readonly Answer[] = ["not-settled", ...sides];
const inTimes = (harm: number): string => (harm < 0.995 ? harm.toFixed(2) : harm.toFixed(1));

/** Why this answer: what each would cost on average, given what is known. The one table of costs behind every verdict. */
export function HarmPart({ verdict, table }: { verdict: Verdict; table: HarmTable }) {
  return (
    <details class="harm">
      <summary>Why this answer and no other: what each would cost</summary>
      <p>
        Leaving it open costs 1. A wrong answer costs more, and wrongly naming the person most. Of the
        expected costs the least decides; that is the same as asking each side to reach its threshold. Both
        are the programme's own settings; the defaults are assumptions.
      </p>
      <div class="wide">
        <table class="ledger stacks">
          <caption>Costs, and what each answer is expected to cost here</caption>
          <thead>
            <tr>
              <th scope="col">Answer</th>
              <th scope="col" class="number">
                Cost if wrong
              </th>
              <th scope="col" class="number">
                Said from
              </th>
              <th scope="col" class="number">
                Expected cost
              </th>
            </tr>
          </thead>
          <tbody>
            {answers.map((answer) => (
              <tr>
                <th scope="row">{answer === "not-settled" ? "Leave it open" : sideNames[answer]}</th>
                <td class="number" data-label="Cost if wrong">
                  {inTimes(table[answer])}
                </td>
                <td class="number" data-label="Said from">
                  {answer === "not-settled"
                    ? "always"
                    : `${Math.round(1000 * (1 - 1 / table[answer])) / 10}\u00a0%`}
                </td>
                <td class="number" data-label="Expected cost">
                  {inTimes(expectedHarm(answer, verdict.sides, table))}
                  {verdict.outcome === answer ? " (least)" : ""}
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
    </details>
  );
}
