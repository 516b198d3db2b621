import type { Reason } from "./findings.ts";

type Group = readonly [verdict: Reason["verdict"], because: string, clauses: string];

/** "5.27-5.32 6.2": the clauses from 5.27 to 5.32, and 6.2. */
function clausesIn(text: string): readonly string[] {
  return text.split(" ").flatMap((part) => {
    const [from = "", to = from] = part.split("-");
    const [section = "", first = ""] = from.split(".");
    const last = Number(to.split(".")[1]);
    const numbers = Array.from({ length: last - Number(first) + 1 }, (_, at) => Number(first) + at);
    return numbers.map((number) => `FP-${section}.${number}`);
  });
}

const asMap = (groups: readonly Group[]): ReadonlyMap<string, Reason> =>
  new Map(
    groups.flatMap(([verdict, because, clauses]) =>
      clausesIn(clauses).map((clause) => [clause, { verdict, because }] as const),
    ),
  );

const definition = "it says what is meant, and asks nothing by itself";

/** Of a server: why a run has nothing to say of a clause. */
export const reasonsOfServer = asMap([
  ["unseen", definition, "1.1-1.3"],
  [
    "unseen",
    "whether bytes were read or kept aside shows on the server's own pages: it must acknowledge both",
    "3.1-3.10 4.1-4.9 4.12 5.1-5.26 5.33-5.67",
  ],
  ["other-side", "a unit measures and tells", "5.27-5.32"],
  [
    "other-side",
    "a unit's to keep",
    "2.6-2.8 6.2 6.4 6.5 6.17 7.9 8.1 8.2 8.7 9.5 11.2-11.9 12.1 12.2 12.5 12.7 13.1 13.2 13.5",
  ],
  ["unseen", "what a server concludes shows on its pages", "2.1 2.11 6.1 6.3 6.11-6.16 6.18 9.1 11.10"],
  ["unseen", "it is a rule for whoever writes a new version", "13.6"],
  ["unseen", "no message has room for a word about a person", "9.4"],
  ["unseen", "a log is read over a cable, not over this connection", "15.1-15.7"],
  ["not-tried", "the run was given a certificate and no pairing code: --pairing-code", "8.3-8.6"],
  ["not-tried", "a second loan of the same unit would be needed", "8.8"],
  ["not-tried", "somebody at the server must end the loan", "9.2 12.8"],
  ["not-tried", "no command was given: --command-seconds", "7.10-7.13 11.1"],
  ["not-tried", "it ends the certificate the run began with: --renew", "7.14 7.15 12.3 12.4 12.6"],
  ["not-tried", "no plan was in force", "7.5-7.7"],
  ["not-tried", "a plan was in force", "7.8"],
]);

/** Of a unit. */
export const reasonsOfUnit = asMap([
  ["unseen", definition, "1.1-1.3"],
  ["not-tried", "the unit sent no message that it rules", "3.1-3.10 4.1-4.9 4.12 5.1-5.26 5.33-5.67"],
  ["unseen", "what a unit reserves memory for can't be seen", "3.11"],
  ["unseen", "a log is read over a cable, not over this connection", "15.1-15.7"],
  [
    "other-side",
    "a server's to keep",
    "2.10-2.12 4.11 6.1 6.3 6.6 6.8 6.10-6.16 8.4 8.5 11.1 11.10 12.3 12.4 12.6 12.8 13.3 13.4 13.6",
  ],
  ["unseen", "it is a rule for whoever writes a newer unit", "4.10 13.1 13.2"],
  ["unseen", "what the seat did is known to nobody but the unit", "5.27-5.32"],
  ["unseen", "it can't be told from outside", "6.4 6.17 9.1 9.3 9.5 11.9"],
  ["not-tried", "the unit's store must overflow", "6.9"],
  ["not-tried", "it takes longer than a run", "2.7 6.18 8.6 8.7 8.8 9.2 12.1"],
  ["not-tried", "somebody must reset the unit while a command is under way", "11.6"],
  ["unseen", "no message has room for a word about a person", "9.4"],
  ["unseen", "what it can't read of a command or a certificate it says by sections 11 and 12", "7.10-7.15"],
  ["not-tried", "the unit was enrolled before the run", "8.1-8.3"],
  ["not-tried", "what a unit does with a plan shows on the unit", "7.5-7.8"],
  ["not-tried", "it empties the unit's store: --forget", "11.8"],
]);
