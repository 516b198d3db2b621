import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { allowedMoves, movesByHand, placesAfterLoan } from "../../server/domain/lifecycle/moves.ts";
import { type Place, places } from "../../server/domain/lifecycle/place.ts";

/** Every place reachable from `start`, never passing through `closed`. */
function reachable(start: Place, closed: Place | null): Set<Place> {
  const found = new Set<Place>();
  const queue: Place[] = [start];
  for (let place = queue.pop(); place !== undefined; place = queue.pop()) {
    for (const next of allowedMoves(place)) {
      if (next === closed || found.has(next)) continue;
      found.add(next);
      queue.push(next);
    }
  }
  return found;
}

describe("the places of a unit", () => {
  it("lets a unit that was lent come back into stock", () => {
    expect(reachable("on-loan", null)).toContain("in-stock");
  });

  it("never lets a unit that was lent into stock without cleaning, nor without the bench", () => {
    expect(reachable("on-loan", "cleaning")).not.toContain("in-stock");
    expect(reachable("on-loan", "on-the-bench")).not.toContain("in-stock");
  });

  it("never lends a unit from anywhere but the stock or a reservation", () => {
    const lendable = places.filter((place) => allowedMoves(place).includes("on-loan"));
    expect(lendable).toEqual(["in-stock", "reserved"]);
  });

  it("cleans before the bench and the bench before the stock, whatever is done in whatever order", () => {
    fc.assert(
      fc.property(fc.array(fc.nat(20), { maxLength: 60 }), (choices) => {
        let place: Place = "in-stock";
        // What the unit still needs since it was last with a borrower or held.
        let needsCleaning = false;
        let needsBench = false;
        for (const choice of choices) {
          const open = allowedMoves(place);
          const next = open[choice % Math.max(open.length, 1)];
          if (next === undefined) break;
          place = next;
          if (place === "on-loan" || place === "quarantine") needsCleaning = needsBench = true;
          if (place === "cleaning") needsCleaning = false;
          if (place === "on-the-bench" && !needsCleaning) needsBench = false;
          if (place === "in-stock")
            expect({ needsCleaning, needsBench }).toEqual({ needsCleaning: false, needsBench: false });
          expect(places.filter((each) => each === place)).toHaveLength(1);
        }
      }),
    );
  });

  it("keeps loans and visits the only way onto and off a loan, and a retired unit retired", () => {
    for (const place of places) {
      expect(movesByHand(place)).not.toContain("on-loan");
      expect(movesByHand(place)).not.toContain("reserved");
    }
    expect(movesByHand("on-loan")).toEqual([]);
    expect(movesByHand("retired")).toEqual([]);
    for (const place of placesAfterLoan) expect(allowedMoves("on-loan")).toContain(place);
  });
});
