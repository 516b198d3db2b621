import type { DescribedDraw } from "../domain/battery/cell-description.ts";
import type { BenchTolerances } from "../domain/bench/tolerances.ts";
import { type ModelId, modelId } from "../domain/ids.ts";
import { type Refused, refused } from "../domain/lifecycle/refusal.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import { insertModel, type ModelDescription, type ModelRow, modelById } from "../store/models.ts";
import type { StaffActor } from "./staff-actor.ts";

export interface AddModelRequest extends Omit<ModelRow, "id" | "version" | "draw" | keyof ModelDescription> {
  /** Short and chosen by the programme: `calm-43`. */
  readonly id: string;
  /** What its maker states otherwise than usual. */
  readonly benchTolerances?: Partial<BenchTolerances>;
  readonly draw?: Partial<DescribedDraw>;
}

/** Adds a make of cushion, as data. */
export function addModel(
  services: Services,
  actor: StaffActor,
  request: AddModelRequest,
): { readonly kind: "added"; readonly model: ModelId } | Refused<"model-exists"> {
  const outcome = services.db.transaction(
    (tx) => {
      const id = modelId(request.id);
      if (modelById(tx, id) !== null)
        return refused("model-exists", `There is already a model called ${request.id}.`);
      insertModel(tx, { ...request, id });
      appendAudit(tx, {
        at: services.clock.now(),
        actor,
        action: "add-model",
        subject: `model:${id}`,
        detail: { name: request.name, size: request.size },
      });
      return { kind: "added", model: id } as const;
    },
    { behavior: "immediate" },
  );
  if (outcome.kind === "added") services.live.changed("stores");
  return outcome;
}
