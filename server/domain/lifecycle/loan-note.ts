/** What a note on a loan can tell of its time. */
export const loanNoteKinds = [
  "hospital",
  "holiday",
  "new-chair",
  "washed-cover",
  "visit",
  "call",
  "other",
] as const;
export type LoanNoteKind = (typeof loanNoteKinds)[number];

export const loanNoteWords = {
  hospital: "In hospital",
  holiday: "Away from home",
  "new-chair": "New or repaired chair",
  "washed-cover": "Cover washed",
  visit: "Visit",
  call: "Call",
  other: "Other",
} as const satisfies Record<LoanNoteKind, string>;
