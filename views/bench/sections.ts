/** The pages of this desk, beside its worklist. */
export const benchSections = [
  { href: "/bench/units", words: "Units" },
  { href: "/bench/kept-aside", words: "Kept aside" },
] as const;
