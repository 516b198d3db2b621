import type { DescribedDraw } from "../domain/battery/cell-description.ts";
import { type BenchTolerances, contradictionsIn, usualTolerances } from "../domain/bench/tolerances.ts";
import type { ModelId } from "../domain/ids.ts";
import { type Refused, refused } from "../domain/lifecycle/refusal.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import type { Database } from "../store/database.ts";
import { describeModel, modelById } from "../store/models.ts";
import type { StaffActor } from "./staff-actor.ts";

export interface Description {
  readonly model: ModelId;
  /** The version of the model that the form was filled in from. */
  readonly seen: number;
  /** What differs from the usual; each within the range of its definition: the form has checked it. */
  readonly own: Partial<BenchTolerances>;
  /** What differs from the usual draw, the same way. */
  readonly draw: Partial<DescribedDraw>;
  /** Where those come from. */
  readonly from: string | null;
  /** Places of the grid that hold no cell. */
  readonly absent: readonly number[];
}

export type DescribeRule =
  | "unknown-model"
  | "changed-meanwhile"
  | "say-where-from"
  | "limits-contradict"
  | "no-cells-left";

/** Says what a sound unit of this model reads on the bench and which places of its grid hold no cell. Sessions that are
 *  open keep what held when they began; the health of its units is looked at anew at their next turn. */
export function changeModelDescription(
  services: Services,
  actor: StaffActor,
  request: Description,
): { readonly kind: "described" } | Refused<DescribeRule> {
  const outcome = services.db.transaction((tx) => describeWithin(tx, services, actor, request), {
    behavior: "immediate",
  });
  if (outcome.kind === "described") services.live.changed("bench");
  return outcome;
}

function describeWithin(
  db: Database,
  services: Services,
  actor: StaffActor,
  { model: id, seen, own, draw, from, absent }: Description,
): { readonly kind: "described" } | Refused<DescribeRule> {
  const model = modelById(db, id);
  if (model === null) return refused("unknown-model", `There is no model called ${id}.`);
  if (model.version !== seen)
    return refused(
      "changed-meanwhile",
      "Somebody changed this model while the form was open. Look at what it says now, then enter yours again.",
    );
  const hasLimits = Object.keys(own).length > 0;
  const hasDraw = Object.keys(draw).length > 0;
  const isOwn = hasLimits || hasDraw;
  if (isOwn && from === null)
    return refused("say-where-from", "Say where the numbers that differ come from.");
  const [contradiction] = Object.values(contradictionsIn({ ...usualTolerances, ...own }));
  if (contradiction !== undefined) return refused("limits-contradict", contradiction);
  if (absent.length >= model.rows * model.columns)
    return refused("no-cells-left", "A grid has at least one cell.");
  const description = {
    benchTolerances: hasLimits ? own : null,
    draw: hasDraw ? draw : null,
    tolerancesFrom: isOwn ? from : null,
    absentCells: absent.length > 0 ? absent : null,
  };
  describeModel(db, id, seen, description);
  appendAudit(db, {
    at: services.clock.now(),
    actor,
    action: "describe-model",
    subject: `model:${id}`,
    detail: {
      limitsBefore: model.benchTolerances ?? {},
      limits: own,
      drawBefore: model.draw ?? {},
      draw,
      from: description.tolerancesFrom,
      absentBefore: model.absentCells ?? [],
      absent,
    },
  });
  return { kind: "described" };
}
