export type Verdict = "holds" | "broken" | "not-as-advised" | "not-tried" | "unseen" | "other-side";

export interface Ruling {
  readonly clause: string;
  readonly verdict: Verdict;
  /** What was seen, or why nothing was. */
  readonly because: string;
}

/** Why a clause gets no verdict of its own. */
export interface Reason {
  readonly verdict: "not-tried" | "unseen" | "other-side";
  readonly because: string;
}

/** The worst that was seen of a clause is what counts. */
const worstFirst = ["broken", "not-as-advised", "holds", "not-tried"] as const;
type Seen = Exclude<Verdict, "unseen" | "other-side">;

/** Collects what a run sees, clause by clause. */
export class Findings {
  readonly #seen = new Map<string, { verdict: Seen; because: string }[]>();

  holds(clause: string, because: string): void {
    this.#add(clause, "holds", because);
  }

  broken(clause: string, because: string): void {
    this.#add(clause, "broken", because);
  }

  /** Holds where it is so, is broken where not. */
  check(clause: string, isSo: boolean, good: string, bad: string): void {
    this.#add(clause, isSo ? "holds" : "broken", isSo ? good : bad);
  }

  /** The same of a clause that says "should". */
  advised(clause: string, isSo: boolean, good: string, bad: string): void {
    this.#add(clause, isSo ? "holds" : "not-as-advised", isSo ? good : bad);
  }

  notTried(clause: string, because: string): void {
    this.#add(clause, "not-tried", because);
  }

  #add(clause: string, verdict: Seen, because: string): void {
    const known = this.#seen.get(clause) ?? [];
    known.push({ verdict, because });
    this.#seen.set(clause, known);
  }

  /** @param reasons for what no run can see, or this one did not try */
  rulings(clauses: readonly string[], reasons: ReadonlyMap<string, Reason>): readonly Ruling[] {
    return clauses.map((clause) => {
      const seen = this.#seen.get(clause) ?? [];
      for (const verdict of worstFirst) {
        const told = new Set(seen.filter((each) => each.verdict === verdict).map(({ because }) => because));
        if (told.size > 0) return { clause, verdict, because: [...told].join("; ") };
      }
      const reason = reasons.get(clause);
      return { clause, verdict: "not-tried", because: "the run ended before it came to this", ...reason };
    });
  }
}
