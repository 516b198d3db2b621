/** The pages of this desk, beside its worklist. */
export const benchSections = [
  { href: "/bench/units", words: "Units" },
  { href: "/bench/sessions", words: "Sessions" },
  { href: "/bench/equipment", words: "Rigs and weights" },
  { href: "/bench/models", words: "Models" },
  { href: "/bench/firmware", words: "Firmware" },
  { href: "/bench/kept-aside", words: "Kept aside" },
] as const;
