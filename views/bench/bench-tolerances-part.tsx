import {
  type BenchTolerances,
  toleranceDefinitions,
  usualTolerances,
} from "../../server/domain/bench/tolerances.ts";
import { keysOf } from "../../server/domain/keys-of.ts";

interface BenchTolerancesProps {
  readonly tolerances: BenchTolerances;
  /** Where those that differ from the usual ones come from. */
  readonly from: string | null;
}

/** What the readings are held against, and where each number comes from. */
export function BenchTolerancesPart({ tolerances, from }: BenchTolerancesProps) {
  const names = keysOf(toleranceDefinitions);
  return (
    <details>
      <summary>The limits of this session, and where they come from</summary>
      <ul class="story">
        {names.map((name) => (
          <li>
            {toleranceDefinitions[name].meaning}: <strong>{tolerances[name]}</strong> (
            {from !== null && tolerances[name] !== usualTolerances[name]
              ? from
              : toleranceDefinitions[name].origin}
            )
          </li>
        ))}
      </ul>
    </details>
  );
}
