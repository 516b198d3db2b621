import type { DueReliefs } from "../adherence/due-reliefs.ts";
import type { FoundStretch } from "./find-gaps.ts";

/** Seated and recorded time in which at least `thinStretchDue` reliefs in a row were due and none was seen: from the
 *  sitting down, off-load or end of a gap before it to the next off-load, time off, or gap. A relief seen late ends it
 *  too: "none seen" means none. */
export function findThinStretches(
  { sits, clock }: Pick<DueReliefs, "sits" | "clock">,
  settings: { readonly thinStretchDue: number },
): FoundStretch[] {
  const open = clock.sit ? [{ ...clock.sit, end: null }] : [];
  return [...sits, ...open]
    .filter((sit) => sit.missed >= settings.thinStretchDue)
    .map(({ start, end }) => ({ kind: "thin", start, end }));
}
