import { describe, expect, it } from "vitest";
import type { Fault } from "../../scripts/simulated-cushions/faults.ts";
import { live, start, steadyPerson } from "../simulated-cushions/cast.ts";
import { healthOf } from "./recorded.ts";

const day = 86_400_000;
const from = start + 7 * day;
const column: Fault = { kind: "column-open", from, column: 6 };

async function verdicts(options: Parameters<typeof live>[0]) {
  const { grid } = await healthOf(live(options), start, options.days);
  return new Map((grid?.counterfactuals ?? []).map(({ direction, verdict }) => [direction, verdict]));
}

describe("a suspected fault laid over earlier good data", () => {
  it("explains the missing leans it hides, and says no more of the others", async () => {
    const told = await verdicts({ days: 14, spec: { faults: [column] }, seed: "counterfactual" });
    // A dead column on the right hides leans to the left, which take the load off the right.
    expect(told.get("left")).toBe("explains");
    expect(told.get("right")).toBe("no-drop");
  });

  it("does not excuse a person who stopped a direction that it spares", async () => {
    const stopped = {
      ...steadyPerson,
      changes: [{ from, until: null, reliefs: { kinds: [["lean-left", 1]] as const } }],
    };
    const told = await verdicts({
      days: 14,
      person: stopped,
      spec: { faults: [{ kind: "cell-open", from, row: 7, column: 7 }] },
      seed: "counterfactual",
    });
    expect(told.get("right")).toBe("does-not");
  });

  it("says nothing where nothing is broken", async () => {
    expect(await verdicts({ days: 10 })).toEqual(new Map());
  });
});
