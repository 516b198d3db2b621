import type { LoanId, UnitSerial } from "../domain/ids.ts";
import type { Span } from "../domain/units.ts";
import { type DayDigest, digestOf, emptyDigest } from "../domain/verdicts/day-digest.ts";
import type { Services } from "../services.ts";
import { loanRecord } from "./loan-record.ts";

/** Digests of days of a loan, as they are filed, each read at most once: stretches of one review share their habit days. Keep one only for the
 *  length of a review, since late data change a day. */
export interface DigestedLoan {
  readonly id: LoanId;
  readonly unitSerial: UnitSerial;
}

export interface DayDigests {
  of(loan: DigestedLoan, span: Span): Promise<DayDigest>;
}

export function dayDigests(services: Pick<Services, "db" | "telemetry">): DayDigests {
  const known = new Map<string, Promise<DayDigest>>();
  return {
    of: (loan, span) => {
      if (span.end <= span.start) return Promise.resolve(emptyDigest);
      const key = `${loan.id} ${span.start} ${span.end}`;
      const digest =
        known.get(key) ?? loanRecord(services, loan, span).then(({ record }) => digestOf(record));
      known.set(key, digest);
      return digest;
    },
  };
}
