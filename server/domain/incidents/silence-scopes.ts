/** What units can share that can silence them all. In the order in which equally good explanations are named. */
export const scopeKinds = ["programme", "certificates", "area", "relay", "firmware", "lot"] as const;
export type ScopeKind = (typeof scopeKinds)[number];
