/** "1 unit", "12 units". */
export const counted = (count: number, thing: string): string =>
  count === 1 ? `1 ${thing}` : `${count} ${thing}s`;
