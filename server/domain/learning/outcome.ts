/** Who found out what a stretch was. A verdict is no source. */
export const outcomeSources = ["clinician", "bench", "visit"] as const;
export type OutcomeSource = (typeof outcomeSources)[number];
