import type { LoanId } from "../domain/ids.ts";
import { instant } from "../domain/units.ts";
import { togetherWithin } from "../domain/verdicts/silent-together.ts";
import type { Stretch } from "../domain/verdicts/verdict.ts";
import type { Services } from "../services.ts";
import { loanById } from "../store/loans.ts";
import { gapsOfOthersDuring } from "../store/stretch-clues.ts";
import { currentVerdict } from "../store/verdicts.ts";
import { judgeAgain } from "./judge-again.ts";

const sharedCauses: readonly (string | undefined)[] = ["programme-link", "area-outage"];

/** A gap that has just been found, moved or filled is a clue for every other gap that began in the same minutes: those
 *  are judged again, so that it doesn't matter which unit was worked through first. Gaps already put down to a shared
 *  cause have nothing more to learn from one more silence.
 *  @param gaps the gaps of `loan` that changed */
export async function judgeSilentTogether(
  services: Services,
  loan: LoanId,
  gaps: readonly Pick<Stretch, "start" | "filledAt">[],
): Promise<void> {
  const again = new Map<LoanId, { from: number; to: number }>();
  for (const { start } of gaps) {
    const around = { start: instant(start - togetherWithin), end: instant(start + togetherWithin) };
    for (const other of gapsOfOthersDuring(services.db, loan, around)) {
      if (Math.abs(other.startsAt - start) > togetherWithin) continue;
      const held = currentVerdict(services.db, other.id)?.verdict;
      if (held?.outcome === "link" && sharedCauses.includes(held.causes[0]?.cause)) continue;
      const range = again.get(other.loanId);
      again.set(other.loanId, {
        from: Math.min(range?.from ?? other.startsAt, other.startsAt),
        to: Math.max(range?.to ?? other.startsAt, other.startsAt),
      });
    }
  }
  for (const [id, { from, to }] of again) {
    const other = loanById(services.db, id);
    if (other) await judgeAgain(services, other, { start: instant(from), end: instant(to + 1) }, "gap");
  }
}
