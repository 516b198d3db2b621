import { conditionOf } from "../domain/condition/condition-of.ts";
import type { FindingId } from "../domain/ids.ts";
import { type Refused, refused } from "../domain/lifecycle/refusal.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import { type FindingRow, findingById, openFindingsOf, saveJudgement } from "../store/findings.ts";
import { assessmentOf, saveAssessment } from "../store/unit-assessments.ts";
import { auditChange } from "./assess-unit.ts";
import { judgeAfterFinding } from "./judge-after-finding.ts";
import type { StaffActor } from "./staff-actor.ts";

export type Judgement = "confirmed" | "refuted";

export interface FindingJudged {
  readonly kind: "judged";
  readonly finding: FindingRow;
}

/** A technician says whether a finding is so, or takes back what was said (`null`). It is kept with the finding beside
 *  what was computed. A refuted one no longer weighs on the unit or on a verdict, and isn't raised again until its signs
 *  have gone. */
export async function judgeFinding(
  services: Services,
  actor: StaffActor,
  request: { readonly id: FindingId; readonly judgement: Judgement | null },
): Promise<FindingJudged | Refused<"unknown-finding" | "finding-cleared">> {
  const { id, judgement } = request;
  const at = services.clock.now();
  const outcome = services.db.transaction(
    (tx): FindingJudged | Refused<"unknown-finding" | "finding-cleared"> => {
      const finding = findingById(tx, id);
      if (finding === null) return refused("unknown-finding", "There is no such finding.");
      if (finding.clearedAt !== null)
        return refused(
          "finding-cleared",
          "Its signs have gone meanwhile: it is among the past findings now.",
        );
      if (finding.judgement === judgement) return { kind: "judged", finding };
      saveJudgement(tx, id, { judgement, by: actor.id, at });
      appendAudit(tx, {
        at,
        actor,
        action: "judge-finding",
        subject: `unit:${finding.unit}`,
        detail: {
          finding: id,
          kind: finding.kind,
          where: finding.where,
          judgement: judgement ?? "taken back",
        },
      });
      const before = assessmentOf(tx, finding.unit);
      if (before) {
        const condition = conditionOf(openFindingsOf(tx, finding.unit));
        saveAssessment(tx, { ...before, ...condition });
        auditChange(tx, { unit: finding.unit, at, before, condition });
      }
      return { kind: "judged", finding };
    },
    { behavior: "immediate" },
  );
  if (outcome.kind === "judged") {
    const { unit, since } = outcome.finding;
    services.live.changed("bench", `unit:${unit}`);
    await judgeAfterFinding(services, unit, since);
  }
  return outcome;
}
