/** Ways in which a record is not of the person it is filed under. */
export const identityTroubleKinds = ["swapped", "two-people", "object", "other-seat", "turned"] as const;
export type IdentityTroubleKind = (typeof identityTroubleKinds)[number];
