import { movesByHand, placeWords } from "../../server/domain/lifecycle/moves.ts";
import { Caution } from "../layout/caution.tsx";
import { CsrfField } from "../layout/forms.tsx";
import { dateTimeWords } from "../layout/words.ts";
import type { UnitPageProps } from "./unit-page.tsx";

export function PlacePart({ frame, unit, barredBy, reserved }: UnitPageProps) {
  const moves = movesByHand(unit.place);
  return (
    <section id="place">
      <h2>Place</h2>
      <p>
        It is <strong>{placeWords[unit.place]}</strong>, since {dateTimeWords(unit.placeSince, frame.zone)}.
      </p>
      {barredBy.length === 0 ? null : (
        <Caution word="Held back.">Recall {barredBy.join(", ")} bars this unit from stock.</Caution>
      )}
      {unit.place === "on-loan" ? (
        <p>It comes to the bench when its loan is ended or swapped; Stores plans that.</p>
      ) : reserved ? (
        <p>A planned visit is to bring it: Stores changes that visit first.</p>
      ) : moves.length === 0 ? (
        <p>A unit that is {placeWords[unit.place]} stays so.</p>
      ) : (
        <div class="actions">
          {moves.map((to) => (
            <form method="post" action={`/bench/units/${unit.serial}/move`}>
              <CsrfField signedIn={frame.signedIn} />
              <input type="hidden" name="from" value={unit.place} />
              <input type="hidden" name="to" value={to} />
              <button type="submit" class={to === "retired" || to === "missing" ? "grave" : "quiet"}>
                Move it to: {placeWords[to]}
              </button>
            </form>
          ))}
        </div>
      )}
    </section>
  );
}
