import { solveLinear } from "../statistics/solve-linear.ts";
import type { GridShape } from "./expected-response.ts";

/** Share of the mean spread of a cell that is taken for its own noise. Assumption. */
const ownNoise = 0.05;

/** How to weigh the cells so that the difference between the two sides stands out from how this body moves about: Fisher's
 *  linear discriminant (1936, Ann Eugen 7:179) of the baseline sits and their mirror images, with a ridge. Only the even
 *  shape of the load, more on one side and less on the other, is looked for: what a cell's own gain adds stays where it
 *  is when an insert is turned over.
 *  @param maps normalised maps of the baseline sits
 *  @returns weights that add up to a negative sum on those maps, and to as much above zero on their mirror images */
export function mirrorDirection(maps: readonly Float32Array[], shape: GridShape): Float32Array {
  const images = maps.map((map) => mirrored(map, shape));
  const mean = meanOf(maps);
  const even = mean.map((count, cell) => (count + (mirrored(mean, shape)[cell] ?? 0)) / 2);
  const wanted = even.map((count, cell) => (2 * (cell % shape.columns) + 1 < shape.columns ? count : -count));
  const spread = [
    ...maps.map((map) => minus(map, mean)),
    ...images.map((map) => minus(map, mirrored(mean, shape))),
  ];
  const weights = inverseTimes(spread, wanted);
  const side = maps.reduce((sum, map) => sum + dot(weights, map), 0);
  return Float32Array.from(weights, (weight) => (side > 0 ? -weight : weight));
}

export const dot = (one: ArrayLike<number>, other: ArrayLike<number>): number => {
  let sum = 0;
  for (let place = 0; place < one.length; place++) sum += (one[place] ?? 0) * (other[place] ?? 0);
  return sum;
};

/** (Λ + C Cᵀ / n)⁻¹ w for few columns C and Λ a multiple of one, by Woodbury's identity. */
function inverseTimes(columns: readonly Float64Array[], wanted: Float64Array): Float64Array {
  const n = columns.length;
  const whole = columns.reduce((sum, column) => sum + dot(column, column), 0) / n;
  const ridge = Math.max(1e-12, (ownNoise * whole) / wanted.length);
  const inner = columns.map((one, row) =>
    columns.map((other, column) => dot(one, other) + (row === column ? n * ridge : 0)),
  );
  const parts = solveLinear(
    inner,
    columns.map((column) => dot(column, wanted)),
  );
  return wanted.map(
    (value, cell) =>
      (value - columns.reduce((sum, column, index) => sum + (column[cell] ?? 0) * (parts[index] ?? 0), 0)) /
      ridge,
  );
}

function meanOf(maps: readonly Float32Array[]): Float64Array {
  const mean = new Float64Array(maps[0]?.length ?? 0);
  for (const map of maps)
    for (let cell = 0; cell < mean.length; cell++)
      mean[cell] = (mean[cell] ?? 0) + (map[cell] ?? 0) / maps.length;
  return mean;
}

const mirrored = (map: ArrayLike<number>, { columns }: GridShape): Float64Array =>
  Float64Array.from(map, (_, cell) => map[cell - (cell % columns) + (columns - 1 - (cell % columns))] ?? 0);

const minus = (map: ArrayLike<number>, mean: Float64Array): Float64Array =>
  mean.map((count, cell) => (map[cell] ?? 0) - count);
