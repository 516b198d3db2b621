import type { Place } from "./place.ts";

/** Where a unit may go next. A unit that has been with a borrower reaches the stock only through cleaning and then
 *  the bench; nothing leaves `retired`, so that a unit taken out of use for a reason can't drift back.
 *  Origin: common practice, no source. */
const nextPlaces = {
  "in-stock": ["reserved", "on-loan", "on-the-bench", "quarantine", "retired", "missing"],
  reserved: ["in-stock", "on-loan", "quarantine", "missing"],
  "on-loan": ["coming-back", "quarantine", "missing"],
  "coming-back": ["quarantine", "missing"],
  quarantine: ["cleaning", "retired", "missing"],
  cleaning: ["on-the-bench", "quarantine", "retired", "missing"],
  "on-the-bench": ["in-stock", "cleaning", "quarantine", "retired", "missing"],
  retired: [],
  missing: ["quarantine", "retired"],
} as const satisfies Record<Place, readonly Place[]>;

export const allowedMoves = (from: Place): readonly Place[] => nextPlaces[from];

/** A loan moves its unit itself: opening it is the only way to `on-loan`, ending it the only way from there. What is
 *  reserved for a visit is reserved by planning the visit. The rest is moved by hand. */
export function movesByHand(from: Place): readonly Place[] {
  if (from === "on-loan") return [];
  return allowedMoves(from).filter((to) => to !== "on-loan" && to !== "reserved");
}

/** Where a unit can be once its loan has ended. */
export const placesAfterLoan = ["coming-back", "quarantine", "missing"] as const satisfies readonly Place[];
export type PlaceAfterLoan = (typeof placesAfterLoan)[number];

export const placeWords = {
  "in-stock": "in stock",
  reserved: "reserved",
  "on-loan": "on loan",
  "coming-back": "coming back",
  quarantine: "quarantine",
  cleaning: "cleaning",
  "on-the-bench": "on the bench",
  retired: "retired",
  missing: "missing",
} as const satisfies Record<Place, string>;

/** The same inside a sentence: "it is in quarantine". */
export const whereWords = {
  ...placeWords,
  quarantine: "in quarantine",
  cleaning: "being cleaned",
} as const satisfies Record<Place, string>;
