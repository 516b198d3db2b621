/** The pages of this desk, beside its worklist. */
export const storesSections = [
  { href: "/stores/loans", words: "Loans" },
  { href: "/stores/visits", words: "Visits" },
  { href: "/stores/borrowers", words: "Borrowers" },
  { href: "/stores/units", words: "Units" },
  { href: "/stores/recalls", words: "Recalls" },
] as const;
