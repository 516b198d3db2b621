/** Where a unit is in its life. One place at a time; holds are separate. */
export const places = [
  "in-stock",
  "reserved",
  "on-loan",
  "coming-back",
  "quarantine",
  "cleaning",
  "on-the-bench",
  "retired",
  "missing",
] as const;
export type Place = (typeof places)[number];
