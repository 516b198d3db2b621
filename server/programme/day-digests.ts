import type { UnitSerial } from "../domain/ids.ts";
import type { Span } from "../domain/units.ts";
import { type DayDigest, digestOf, emptyDigest } from "../domain/verdicts/day-digest.ts";
import type { Services } from "../services.ts";

/** Digests of days, each read at most once: stretches of one review share their habit days. Keep one only for the
 *  length of a review, since late data change a day. */
export interface DayDigests {
  of(unit: UnitSerial, span: Span): Promise<DayDigest>;
}

export function dayDigests(services: Pick<Services, "telemetry">): DayDigests {
  const known = new Map<string, Promise<DayDigest>>();
  return {
    of: (unit, span) => {
      if (span.end <= span.start) return Promise.resolve(emptyDigest);
      const key = `${unit} ${span.start} ${span.end}`;
      const digest = known.get(key) ?? services.telemetry.read(unit, span).then(digestOf);
      known.set(key, digest);
      return digest;
    },
  };
}
