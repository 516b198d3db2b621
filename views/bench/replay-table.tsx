import type { CounterfactualVerdict } from "../../server/domain/sensor-grid/counterfactual.ts";
import type { GridHealth } from "../../server/domain/sensor-grid/grid-health.ts";

/** Whether the fault alone would make the drop that is seen: asked before anybody is asked about it. */
export function ReplayTable({ grid }: { grid: GridHealth }) {
  if (grid.counterfactuals.length === 0) return null;
  return (
    <div class="stack">
      <section class="wide" tabindex={0} aria-label="What the fault alone would hide">
        <table class="ledger">
          <caption>The fault laid over the good days before it: leans recorded a day</caption>
          <thead>
            <tr>
              <th scope="col">Lean</th>
              <th scope="col" class="number">
                Before
              </th>
              <th scope="col">Expected with the fault</th>
              <th scope="col" class="number">
                Since
              </th>
              <th scope="col">So the fault</th>
            </tr>
          </thead>
          <tbody>
            {grid.counterfactuals.map(({ direction, before, withFault, after, verdict }) => (
              <tr>
                <th scope="row">{direction}</th>
                <td class="number">{before.toFixed(1)}</td>
                <td>
                  {withFault.low.toFixed(1)} to {withFault.high.toFixed(1)}
                </td>
                <td class="number">{after.toFixed(1)}</td>
                <td>{verdictWords[verdict]}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </section>
      <p class="soft">
        What a broken grid doesn’t show may well have been done. Where the fault explains the drop, there is
        nothing to ask the person.
      </p>
    </div>
  );
}

const verdictWords: Readonly<Record<CounterfactualVerdict, string>> = {
  explains: "explains the drop by itself",
  part: "explains part of it: there may be more faults",
  "does-not": "doesn’t explain it",
  "no-drop": "has nothing to explain: no drop",
};
