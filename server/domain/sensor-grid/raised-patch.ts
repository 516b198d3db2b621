import type { RecordedFrame } from "../record/unit-record.ts";
import type { Instant } from "../units.ts";
import type { GridShape } from "./expected-response.ts";

/** One picture of the empty seat: the largest patch of neighbouring cells that read more than they usually do. */
export interface EmptyLook {
  readonly at: Instant;
  /** Empty where nothing is raised, or too few cells are. */
  readonly patch: readonly number[];
  /** Counts above the usual, over the patch. */
  readonly excess: number;
}

/** Counts above a cell's usual empty reading that count as raised, and cells that make a patch. Assumptions. */
const raisedBy = 8;
const fewestCells = 3;

/** @param usual what each cell reads empty, by the days before */
export function emptyLook({ at, cells }: RecordedFrame, usual: Float32Array, shape: GridShape): EmptyLook {
  const excess = Float32Array.from(cells, (count, cell) => count - (usual[cell] ?? 0));
  // The whole grid may creep: what counts is above the rest of it.
  const crept = excess.toSorted()[excess.length >> 1] ?? 0;
  const raised = new Set<number>();
  excess.forEach((above, cell) => {
    if (above - crept >= raisedBy) raised.add(cell);
  });
  let largest: number[] = [];
  while (raised.size > largest.length) {
    const patch = takePatch(raised, shape);
    if (patch.length > largest.length) largest = patch;
  }
  if (largest.length < fewestCells) return { at, patch: [], excess: 0 };
  return { at, patch: largest, excess: largest.reduce((sum, cell) => sum + (excess[cell] ?? 0), 0) };
}

/** Takes one connected patch out of `raised`. */
function takePatch(raised: Set<number>, { columns }: GridShape): number[] {
  const [start] = raised;
  if (start === undefined) return [];
  raised.delete(start);
  const patch = [start];
  for (const cell of patch) {
    const column = cell % columns;
    const beside = [
      cell - columns,
      cell + columns,
      ...(column > 0 ? [cell - 1] : []),
      ...(column < columns - 1 ? [cell + 1] : []),
    ];
    for (const next of beside) if (raised.delete(next)) patch.push(next);
  }
  return patch;
}
