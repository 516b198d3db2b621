import type { UnitSerial } from "../domain/ids.ts";
import { type Instant, instant } from "../domain/units.ts";
import type { Services } from "../services.ts";
import { loansOfUnit } from "../store/loans.ts";
import { restartWithin } from "./gap-context.ts";
import { judgeAgain } from "./judge-again.ts";

/** A finding is raised when its signs have added up, days after they began; it may be refuted later still. What was said
 *  meanwhile of gaps and thin stretches was said without it: all of them since its signs began are judged again. */
export async function judgeAfterFinding(services: Services, unit: UnitSerial, since: Instant): Promise<void> {
  const now = services.clock.now();
  for (const loan of loansOfUnit(services.db, unit)) {
    if (loan.startedAt === null || (loan.endedAt !== null && loan.endedAt <= since)) continue;
    await judgeAgain(services, loan, { start: instant(since - restartWithin), end: now });
  }
}
