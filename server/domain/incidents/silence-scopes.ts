/** What units can share that can silence them all. In the order in which equally good explanations are named. */
export const scopeKinds = ["programme", "certificates", "area", "relay", "firmware", "lot"] as const;
export type ScopeKind = (typeof scopeKinds)[number];

export interface SilenceScope {
  readonly kind: ScopeKind;
  /** What they share, e.g. the area's name; empty for the whole programme. */
  readonly name: string;
}

/** "in the whole programme", "in Elm Quarter": completes "Silent together …". */
export function scopeWords({ kind, name }: SilenceScope): string {
  switch (kind) {
    case "programme":
      return "across the whole programme";
    case "certificates":
      return `among units whose certificates ended on the same day (${name})`;
    case "area":
      return `in ${name}`;
    case "relay":
      return `among units on relay ${name}`;
    case "firmware":
      return `among units with firmware ${name}`;
    case "lot":
      return `among units of lot ${name}`;
  }
}

/** What such a silence usually is, and who can look at it. Common practice, no source. */
export const scopeMeaning: Readonly<Record<ScopeKind, string>> = {
  programme:
    "Usually the programme's own server, broker or connection. Whoever runs the service looks there first.",
  certificates:
    "Usually certificates that ended together and were not renewed. Whoever runs the service looks there first.",
  area: "Usually a network or power cut in that area. It passes by itself; nobody there needs to be asked about it.",
  relay: "Usually that relay, its power or its network. One look at the relay settles it for all of them.",
  firmware: "Usually a fault of that firmware. Keep the units as they are and tell whoever maintains it.",
  lot: "Possibly a fault of that lot. Look at the lot's record before any unit is handed out from it.",
};
