/** What paper that leaves the house carries instead of a name: "A. B." */
export const initialsOf = (name: string): string =>
  name
    .split(/[\s-]+/)
    .filter((part) => part !== "")
    .map((part) => `${[...part][0]?.toLocaleUpperCase("en") ?? ""}.`)
    .join(" ");
