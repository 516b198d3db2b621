/** Counts a cell must be promised before its silence means anything. Assumption. */
export const clearlyLoaded = 14;
/** A cell below this share of what its neighbours promise is silent. Assumption. */
const silentShare = 0.2;

export const isSilent = (response: number, expected: number): boolean => response < silentShare * expected;
