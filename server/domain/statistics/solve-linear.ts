/** Gaussian elimination with partial pivoting.
 *  @param matrix square, not singular; neither argument is changed */
export function solveLinear(matrix: readonly (readonly number[])[], right: readonly number[]): number[] {
  const rows = matrix.map((row, index) => Float64Array.from([...row, right[index] ?? 0]));
  const size = rows.length;
  for (let column = 0; column < size; column++) {
    let pivot = column;
    for (let row = column + 1; row < size; row++)
      if (Math.abs(rows[row]?.[column] ?? 0) > Math.abs(rows[pivot]?.[column] ?? 0)) pivot = row;
    const top = rows[pivot];
    const swapped = rows[column];
    if (!top || !swapped) throw new Error("the matrix isn't square");
    rows[pivot] = swapped;
    rows[column] = top;
    const head = top[column] ?? 0;
    if (head === 0) throw new Error("the matrix is singular");
    for (let row = column + 1; row < size; row++) {
      const each = rows[row];
      if (!each) continue;
      const factor = (each[column] ?? 0) / head;
      if (factor === 0) continue;
      for (let place = column; place <= size; place++)
        each[place] = (each[place] ?? 0) - factor * (top[place] ?? 0);
    }
  }
  const solution = new Array<number>(size).fill(0);
  for (let row = size - 1; row >= 0; row--) {
    const each = rows[row];
    if (!each) continue;
    let rest = each[size] ?? 0;
    for (let place = row + 1; place < size; place++) rest -= (each[place] ?? 0) * (solution[place] ?? 0);
    solution[row] = rest / (each[row] ?? 1);
  }
  return solution;
}
