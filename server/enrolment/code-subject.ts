import type { Joins } from "../store/pairing-codes.ts";

/** What an audit row about a code is about. */
export const subjectOf = (joins: Joins): string =>
  joins.kind === "loan" ? `loan:${joins.loan}` : `bench-session:${joins.session}`;
