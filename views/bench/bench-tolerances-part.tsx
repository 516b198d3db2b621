import { type BenchTolerances, toleranceOrigins } from "../../server/domain/bench/tolerances.ts";

/** What the readings are held against, and where each number comes from. */
export function BenchTolerancesPart({ tolerances }: { tolerances: BenchTolerances }) {
  const names = Object.keys(toleranceOrigins) as (keyof BenchTolerances)[];
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
