import { type BenchTolerances, toleranceOrigins } from "../../server/domain/bench/tolerances.ts";
import { keysOf } from "../../server/domain/keys-of.ts";

/** What the readings are held against, and where each number comes from. */
export function BenchTolerancesPart({ tolerances }: { tolerances: BenchTolerances }) {
  const names = keysOf(toleranceOrigins);
  return (
    <details>
      <summary>The limits of this session, and where they come from</summary>
      <ul class="story">
        {names.map((name) => (
          <li>
            {toleranceOrigins[name].meaning}: <strong>{tolerances[name]}</strong> (
            {toleranceOrigins[name].origin})
          </li>
        ))}
      </ul>
    </details>
  );
}
