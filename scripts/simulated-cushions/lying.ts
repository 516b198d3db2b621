import type { Fault } from "./faults.ts";
import { randomFrom } from "./random.ts";
import type { GridModel } from "./seat-load.ts";
import { hour, type Moment } from "./wall-clock.ts";

export type Lying = Extract<
  Fault,
  { readonly kind: "insert-shifted" | "turned-round" | "edge-folded" | "cover-loose" }
>;

/** A doubled edge stands proud and takes more of the load; a ridge of a wrinkle takes some from the trough beside it (our
 *  own choice of size). */
const ridge = 1.4;
const wrinkle = 0.3;

/** Makes of the counts what they would be if insert or cover lay otherwise. Nothing electrical is broken.
 *  @param counts written over; @param offsets empty readings, which stay with their cells
 *  @param noise counts of a cell on which nothing lies */
export function liesOtherwise(
  counts: Uint8Array,
  fault: Lying,
  at: Moment,
  { rows, columns }: GridModel,
  offsets: Float64Array,
  noise: () => number,
): void {
  const load = Float64Array.from(counts, (count, cell) => count - (offsets[cell] ?? 0));
  const felt = feltBy(fault, at, load, { rows, columns }, noise);
  for (let cell = 0; cell < counts.length; cell += 1)
    counts[cell] = Math.min(255, Math.max(0, Math.round((offsets[cell] ?? 0) + (felt[cell] ?? 0))));
}

function feltBy(
  fault: Lying,
  at: Moment,
  load: Float64Array,
  { rows, columns }: Pick<GridModel, "rows" | "columns">,
  noise: () => number,
): Float64Array {
  switch (fault.kind) {
    case "insert-shifted":
      return load.map((_, cell) =>
        (cell % columns) + fault.columns < columns ? (load[cell + fault.columns] ?? 0) : noise(),
      );
    case "turned-round":
      return at < fault.until ? load.toReversed() : load;
    case "edge-folded": {
      const inside = (rows - 2) * columns;
      return load.map((own, cell) => (cell < inside ? own : ridge * (load[inside + (cell % columns)] ?? 0)));
    }
    case "cover-loose": {
      const wrinkles = randomFrom(`wrinkles/${Math.floor(at / hour)}`);
      const ofColumn = Array.from({ length: columns }, () => (wrinkles.chance(0.5) ? wrinkle : -wrinkle));
      return load.map((own, cell) => own * (1 + (ofColumn[cell % columns] ?? 0)));
    }
  }
}
