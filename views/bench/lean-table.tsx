import type { GridHealth } from "../../server/domain/sensor-grid/grid-health.ts";

/** Of ten reliefs in each direction, how many this grid would show. */
export function LeanTable({ grid }: { grid: GridHealth }) {
  return (
    <div class="stack">
      <table class="ledger leans">
        <caption>Of ten full leans, how many this unit would show today</caption>
        <thead>
          <tr>
            <th scope="col">Lean</th>
            <th scope="col" class="number">
              Of ten
            </th>
            <th scope="col">90 % range</th>
            <th scope="col">It is</th>
          </tr>
        </thead>
        <tbody>
          {grid.visibility.map(({ direction, sight, outOfTen }) => (
            <tr>
              <th scope="row">{direction}</th>
              <td class="number">{outOfTen.best.toFixed(1)}</td>
              <td>
                {outOfTen.low.toFixed(1)} to {outOfTen.high.toFixed(1)}
              </td>
              <td>
                <span class={`sight sight-${sight}`}>{sightWords[sight]}</span>
              </td>
            </tr>
          ))}
        </tbody>
      </table>
      <p class="soft">
        Computed by replaying leans as deep as were seen here while the grid was sound on the resting map,
        through the cells as they are now. “Weak” is under 8 in ten, “blind” under 3 (our convention). A lean
        that isn’t shown may well have been done.
      </p>
    </div>
  );
}

const sightWords = { sees: "✓ seen", weak: "▲ weak", blind: "⚠ blind" } as const;
