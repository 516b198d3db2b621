export interface RunSheetStop {
  readonly id: string;
  readonly kind: "swap" | "collection";
  readonly area: string;
}

/** Clean before dirty: stops that carry a clean unit in come before those that only bring a used one out; within each,
 *  area by area. Common practice, no source. */
export function inRunSheetOrder<Stop extends RunSheetStop>(stops: readonly Stop[]): readonly Stop[] {
  const rank = (stop: Stop): number => (stop.kind === "swap" ? 0 : 1);
  return [...stops].sort(
    (a, b) => rank(a) - rank(b) || a.area.localeCompare(b.area) || a.id.localeCompare(b.id),
  );
}
