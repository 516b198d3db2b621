import { newId } from "../chance.ts";
import { tellsCapacity } from "../domain/battery/battery-health.ts";
import { type ConditionNow, conditionOf } from "../domain/condition/condition-of.ts";
import { type Findings, findingsOf } from "../domain/condition/findings/findings-of.ts";
import type { FoundNow } from "../domain/condition/findings/found-now.ts";
import { reconcileFindings } from "../domain/condition/reconcile-findings.ts";
import type { UnitHealth } from "../domain/condition/unit-health.ts";
import { findingId, type UnitSerial } from "../domain/ids.ts";
import { hiddenLeans } from "../domain/sensor-grid/hidden-leans.ts";
import { type Instant, instant } from "../domain/units.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import type { Database } from "../store/database.ts";
import { clearFinding, openFindingsOf, raiseFinding, refreshFinding } from "../store/findings.ts";
import { noteHiddenLeans } from "../store/hidden-leans.ts";
import { type AssessmentRow, assessmentOf, saveAssessment } from "../store/unit-assessments.ts";
import { type HealthNow, healthNow } from "./assess-days.ts";

/** Everything computed of a unit from its record, for its page. */
export const healthOfUnit = async (services: Services, unit: UnitSerial): Promise<UnitHealth> =>
  (await healthNow(services, unit)).health;

/** A unit looked at, and nothing of it saved. */
export interface Look {
  readonly unit: UnitSerial;
  readonly health: UnitHealth;
  readonly keepDays: HealthNow["keepDays"];
}

/** What saving a look changed. */
export interface Changed {
  readonly unit: UnitSerial;
  readonly raised: readonly FoundNow[];
  /** Something that pages show. */
  readonly shows: boolean;
}

/** @returns null where there is nothing to say: nothing recorded is nothing known, such a unit isn't called sound */
export async function lookAtUnit(services: Services, unit: UnitSerial): Promise<Look | null> {
  const { health, keepDays } = await healthNow(services, unit);
  if (isEmpty(health) && assessmentOf(services.db, unit) === null) return null;
  return { unit, health, keepDays };
}

/** Brings a unit's findings and condition up to date with its record. Doing it twice changes nothing; nor does a look that
 *  was overtaken by a later one. @param tx the caller's transaction */
export function saveLook(services: Services, tx: Database, { unit, health, keepDays }: Look): Changed {
  const before = assessmentOf(tx, unit);
  if (before !== null && before.assessedAt > health.assessedAt) return { unit, raised: [], shows: false };
  keepDays(tx);
  const found = saveFindings(services, tx, { unit, at: health.assessedAt, findings: findingsOf(health) });
  const condition = conditionOf(openFindingsOf(tx, unit));
  const row = assessmentRow(unit, health, condition, before);
  saveAssessment(tx, row);
  noteHiddenLeans(tx, unit, hiddenLeans(row.visibility), health.assessedAt);
  auditChange(tx, { unit, at: health.assessedAt, before, condition });
  const isNews = found.raised.length + found.cleared > 0;
  const isOther = before?.level !== condition.level || before.reason !== condition.reason;
  return { unit, raised: found.raised, shows: isNews || isOther };
}

const isEmpty = ({ link, grid, faults }: UnitHealth): boolean =>
  link.recordedMinutes === 0 && grid === null && faults.length === 0;

interface Saving {
  readonly unit: UnitSerial;
  readonly at: Instant;
  readonly findings: Findings;
}

/** @returns which findings came, and how many went */
function saveFindings(services: Services, tx: Database, { unit, at, findings }: Saving) {
  const { raised, kept, cleared } = reconcileFindings(openFindingsOf(tx, unit), findings);
  for (const found of raised)
    raiseFinding(tx, { id: findingId(newId(services.chance, "finding")), unit, found, at });
  for (const { open, now } of kept) {
    // As the record slides out of sight, the start that is still seen moves on: the one once seen was the earlier.
    refreshFinding(tx, open.id, now, instant(Math.min(open.since, now.since)), at);
  }
  for (const { id } of cleared) clearFinding(tx, id, at);
  return { raised, cleared: cleared.length };
}

/** What a unit with nothing to judge its grid by could last see is still the best that is known. */
function assessmentRow(
  unit: UnitSerial,
  { assessedAt, grid, battery }: UnitHealth,
  condition: ConditionNow,
  before: AssessmentRow | null,
): AssessmentRow {
  const visibility = grid
    ? Object.fromEntries(
        grid.visibility.map(({ direction, outOfTen: { low, best, high } }) => [
          direction,
          { low, best, high },
        ]),
      )
    : (before?.visibility ?? null);
  return { unitSerial: unit, assessedAt, ...condition, visibility, capacityTold: tellsCapacity(battery) };
}

/** Only a change of level is worth a line in the audit: the rest changes with every hour's record. */
export function auditChange(
  tx: Database,
  change: {
    readonly unit: UnitSerial;
    readonly at: Instant;
    readonly before: Pick<AssessmentRow, "level"> | null;
    readonly condition: ConditionNow;
  },
): void {
  const from = change.before?.level ?? "sound";
  if (from === change.condition.level) return;
  appendAudit(tx, {
    at: change.at,
    actor: { kind: "system" },
    action: "change-condition",
    subject: `unit:${change.unit}`,
    detail: { from, to: change.condition.level, reason: change.condition.reason },
  });
}
