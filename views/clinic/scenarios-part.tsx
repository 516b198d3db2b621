import type { Scenario } from "../../server/domain/adherence/scenarios.ts";

const ifWords: Readonly<Record<Scenario["name"], string>> = {
  "all-made": "every unseen one had been made",
  "none-made": "none of them had been made",
  "as-seen": "they had been made as often as those seen",
  "own-rhythm": "the unseen time was like their own other days at the same hours",
  "own-rhythm-fewer": "the same, with a quarter fewer of the unseen reliefs met than of the seen",
  "own-rhythm-more": "the same, with a quarter more",
  "verdicts-as-given":
    "each settled verdict is right that the cushion was not in use, so that nothing fell due then, and of the others nothing is assumed",
};

const whole = (share: number): string => `${Math.round(share * 100)}\u00a0%`;
const between = ({ low, high }: Scenario): string =>
  whole(low) === whole(high) ? whole(low) : `${whole(low)} to ${whole(high)}`;

/** What the figure would be under assumptions that each have a name. */
export function ScenariosPart({ rows, unseen }: { rows: readonly Scenario[]; unseen: number }) {
  return rows.length === 0 ? null : (
    <div class="wide">
      <table class="ledger stacks">
        <caption>
          Assumptions about the {unseen} that can't be told, each with the share met it would give. None of
          them was seen to be so.
        </caption>
        <thead>
          <tr>
            <th scope="col">If</th>
            <th scope="col" class="number">
              Share met
            </th>
          </tr>
        </thead>
        <tbody>
          {rows.map((row) => (
            <tr>
              <th scope="row">{ifWords[row.name]}</th>
              <td class="number" data-label="Share met">
                {between(row)}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}
