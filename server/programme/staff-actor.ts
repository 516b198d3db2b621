import type { Actor } from "../store/audit.ts";

/** A person who acts, where a change must name one. */
export type StaffActor = Extract<Actor, { kind: "staff" }>;
