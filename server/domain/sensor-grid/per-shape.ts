import type { GridShape } from "./expected-response.ts";

/** A table that follows from the shape of a grid alone, worked out once for each shape there is. */
export function perShape<Table>(make: (shape: GridShape) => Table): (shape: GridShape) => Table {
  const made = new Map<number, Table>();
  return ({ rows, columns }) => {
    const name = rows * 65_536 + columns;
    const known = made.get(name);
    if (known !== undefined) return known;
    const table = make({ rows, columns });
    made.set(name, table);
    return table;
  };
}
