import type { UnitSerial } from "../domain/ids.ts";
import { movesByHand, placeWords, whereWords } from "../domain/lifecycle/moves.ts";
import type { Place } from "../domain/lifecycle/place.ts";
import { type Refused, refused } from "../domain/lifecycle/refusal.ts";
import type { Services } from "../services.ts";
import { type Actor, appendAudit } from "../store/audit.ts";
import { recallsBarringIssue } from "../store/recalls.ts";
import { setUnitPlace, unitBySerial } from "../store/units.ts";
import { unitsReservedForVisits } from "../store/visits.ts";

export interface MoveUnitRequest {
  readonly unit: UnitSerial;
  /** Where the person who asks saw it: if it has moved since, they look again first. */
  readonly from: Place;
  readonly to: Place;
}

export interface UnitMoved {
  readonly kind: "moved";
  readonly from: Place;
  readonly to: Place;
}

export type MoveUnitRule =
  | "unknown-unit"
  | "already-there"
  | "moved-meanwhile"
  | "move-not-allowed"
  | "reserved-for-a-visit"
  | "recall";

/** Moves a unit by hand from one place to the next. Loans and visits move theirs themselves. */
export function moveUnit(
  services: Services,
  actor: Actor,
  request: MoveUnitRequest,
): UnitMoved | Refused<MoveUnitRule> {
  const outcome = services.db.transaction(
    (tx): UnitMoved | Refused<MoveUnitRule> => {
      const unit = unitBySerial(tx, request.unit);
      if (unit === null) return refused("unknown-unit", `There is no unit ${request.unit}.`);
      const refusal =
        reasonNotToMove(unit.place, request) ??
        (unitsReservedForVisits(tx).has(request.unit)
          ? refused("reserved-for-a-visit", "A planned visit is to bring this unit: change that visit first.")
          : null) ??
        recallAgainst(request.to, recallsBarringIssue(tx).get(request.unit) ?? []);
      if (refusal !== null) return refusal;
      const now = services.clock.now();
      setUnitPlace(tx, request.unit, request.to, now);
      appendAudit(tx, {
        at: now,
        actor,
        action: "move-unit",
        subject: `unit:${request.unit}`,
        detail: { from: unit.place, to: request.to },
      });
      return { kind: "moved", from: unit.place, to: request.to };
    },
    { behavior: "immediate" },
  );
  if (outcome.kind === "moved") services.live.changed("stores", "bench", `unit:${request.unit}`);
  return outcome;
}

function reasonNotToMove(now: Place, request: MoveUnitRequest): Refused<MoveUnitRule> | null {
  const { unit, from, to } = request;
  if (now === to)
    return refused("already-there", `${unit} is ${whereWords[to]} already. Nothing was done twice.`);
  if (now !== from)
    return refused("moved-meanwhile", `${unit} has moved meanwhile: it is ${whereWords[now]} now.`);
  if (movesByHand(now).includes(to)) return null;
  if (now === "on-loan")
    return refused("move-not-allowed", "A unit leaves a loan by ending the loan, never by being moved.");
  const next = movesByHand(now).map((place) => placeWords[place]);
  return refused(
    "move-not-allowed",
    next.length === 0
      ? `A unit that is ${whereWords[now]} stays so.`
      : `From ${placeWords[now]} the next place is ${eitherOf(next)}, not ${placeWords[to]}.`,
  );
}

/** The bench may work on a recalled unit; the stock may not take it back. */
function recallAgainst(to: Place, barredBy: readonly string[]): Refused<"recall"> | null {
  if (to !== "in-stock" || barredBy.length === 0) return null;
  return refused(
    "recall",
    `Recall ${barredBy.join(", ")} holds this unit back: record its correction there before it goes into stock.`,
  );
}

const eitherOf = (words: readonly string[]): string =>
  words.length < 2 ? words.join("") : `${words.slice(0, -1).join(", ")} or ${words[words.length - 1] ?? ""}`;
