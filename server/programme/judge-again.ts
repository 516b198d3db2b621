import type { Span } from "../domain/units.ts";
import type { StretchKind } from "../domain/verdicts/verdict.ts";
import type { Services } from "../services.ts";
import { stretchesOf } from "../store/stretches.ts";
import { saveVerdict } from "../store/verdicts.ts";
import { judgeStretches } from "./judge-stretch.ts";
import type { JudgedLoan } from "./judged-loan.ts";

/** Judges the listed stretches of a loan that touch `span` again, for when something besides the record has changed:
 *  a note, a finding, a neighbour's silence.
 *  @returns how many verdicts changed */
export async function judgeAgain(
  services: Services,
  loan: JudgedLoan,
  span: Span,
  only?: StretchKind,
): Promise<number> {
  const stretches = stretchesOf(services.db, loan.id, span).filter(
    ({ kind }) => only === undefined || kind === only,
  );
  const verdicts = await judgeStretches(services, loan, stretches);
  const changed = services.db.transaction((tx) =>
    stretches.filter(({ id, end }) => {
      const verdict = verdicts.get(id);
      const at = services.clock.now();
      return verdict ? saveVerdict(services, tx, { stretch: id, ongoing: end === null, verdict, at }) : false;
    }),
  );
  if (changed.length > 0) {
    services.live.changed("clinic", `person:${loan.borrowerId}`, `loan:${loan.id}`);
    services.live.changed(...changed.map(({ id }) => `stretch:${id}` as const));
  }
  return changed.length;
}
