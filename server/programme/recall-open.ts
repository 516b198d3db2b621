import { newId } from "../chance.ts";
import { lotId, type RecallId, recallId } from "../domain/ids.ts";
import { type Refused, refused } from "../domain/lifecycle/refusal.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import { allRecalls, insertRecall, listUnitsInRecall } from "../store/recalls.ts";
import { nextRecallReference } from "../store/references.ts";
import { unitsOfLot, unitsWithFirmware } from "../store/units.ts";
import type { StaffActor } from "./staff-actor.ts";

export interface OpenRecallRequest {
  readonly title: string;
  /** What a borrower is told to do now, in plain words. */
  readonly advice: string;
  readonly criterion: "lot" | "firmware";
  readonly value: string;
}

export interface RecallOpened {
  readonly kind: "opened";
  readonly recall: RecallId;
  readonly reference: string;
  readonly affected: number;
}

export type OpenRecallRule = "nothing-matches" | "already-open";

/** Takes back every unit of a lot or a firmware, wherever it is: lent, in stock, retired or missing. From now on none
 *  of them can be issued. */
export function openRecall(
  services: Services,
  actor: StaffActor,
  request: OpenRecallRequest,
): RecallOpened | Refused<OpenRecallRule> {
  const outcome = services.db.transaction(
    (tx): (RecallOpened & { units: readonly string[] }) | Refused<OpenRecallRule> => {
      const { criterion, value } = request;
      const same = allRecalls(tx).find(
        (each) => each.closedAt === null && each.criterion === criterion && each.criterionValue === value,
      );
      if (same !== undefined)
        return refused("already-open", `Recall ${same.reference} is open for the same ${criterion} already.`);
      const units = criterion === "lot" ? unitsOfLot(tx, lotId(value)) : unitsWithFirmware(tx, value);
      if (units.length === 0)
        return refused("nothing-matches", `No unit has the ${criterion} ${value}: check the notice.`);
      const now = services.clock.now();
      const id = recallId(newId(services.chance, "recall"));
      const reference = nextRecallReference(tx);
      insertRecall(tx, {
        id,
        reference,
        title: request.title,
        advice: request.advice,
        criterion,
        criterionValue: value,
        openedAt: now,
        openedBy: actor.id,
        closedAt: null,
        closedBy: null,
      });
      const serials = units.map((unit) => unit.serial);
      listUnitsInRecall(tx, id, serials, now);
      appendAudit(tx, {
        at: now,
        actor,
        action: "open-recall",
        subject: `recall:${id}`,
        detail: { reference, criterion, value, affected: serials.length },
      });
      return { kind: "opened", recall: id, reference, affected: serials.length, units: serials };
    },
    { behavior: "immediate" },
  );
  if (outcome.kind === "refused") return outcome;
  const { units, ...opened } = outcome;
  services.live.changed("stores", "bench", ...units.map((serial) => `unit:${serial}` as const));
  return opened;
}
