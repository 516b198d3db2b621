import type { LeanDirection } from "../condition/condition.ts";
import { leanDirections } from "./lean-visibility.ts";

/** Of ten leans, at most so many seen: the direction is hidden. Assumption. */
const mostSeen = 5;

/** Directions in which a unit misses at least half of the leans. @param visibility of ten leans a direction, how many
 *  it would show; null: never assessed, so that nothing is known to be hidden */
export const hiddenLeans = (
  visibility: Readonly<Record<string, { readonly best: number }>> | null,
): LeanDirection[] => leanDirections.filter((direction) => (visibility?.[direction]?.best ?? 10) <= mostSeen);
