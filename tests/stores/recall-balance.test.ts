import fc from "fast-check";
import { describe, expect, it } from "vitest";
import {
  balanceRecall,
  needsSignOff,
  placeContradicts,
  type RecallLine,
  reasonNotToClose,
  recallOutcomes,
} from "../../server/domain/lifecycle/recall-balance.ts";

const anyLines: fc.Arbitrary<RecallLine[]> = fc.array(
  fc.record({ outcome: fc.constantFrom(...recallOutcomes), signedOff: fc.boolean() }),
  { maxLength: 80 },
);

describe("the count of a recall", () => {
  it("always balances: affected is the sum of its outcomes, each unit once", () => {
    fc.assert(
      fc.property(anyLines, (lines) => {
        const balance = balanceRecall(lines);
        const sum = Object.values(balance.counts).reduce((total, count) => total + count, 0);
        expect(sum).toBe(lines.length);
        expect(balance.affected).toBe(sum);
      }),
    );
  });

  it("closes exactly when nothing is outstanding, nothing unlisted, and each lost or declined unit has a name to it", () => {
    fc.assert(
      fc.property(anyLines, fc.nat(2), (lines, unlisted) => {
        const settled = lines.every((line) => line.outcome !== "outstanding");
        const signed = lines.every((line) => !needsSignOff(line.outcome) || line.signedOff);
        const closes = reasonNotToClose(balanceRecall(lines), unlisted) === null;
        expect(closes).toBe(settled && signed && unlisted === 0);
      }),
    );
  });

  it("names the rule that keeps it open", () => {
    const lost = { outcome: "lost", signedOff: false } as const;
    const told = { outcome: "outstanding", signedOff: true } as const;
    expect(reasonNotToClose(balanceRecall([told, lost]), 0)?.rule).toBe("outstanding-units");
    expect(reasonNotToClose(balanceRecall([lost]), 0)?.rule).toBe("sign-off-missing");
    expect(reasonNotToClose(balanceRecall([]), 3)?.rule).toBe("unlisted-units");
  });

  it("does not take a unit as returned while it is still with its borrower, or as lost while it is not missing", () => {
    expect(placeContradicts("returned", "on-loan")).not.toBeNull();
    expect(placeContradicts("returned", "coming-back")).not.toBeNull();
    expect(placeContradicts("returned", "cleaning")).toBeNull();
    expect(placeContradicts("lost", "in-stock")).not.toBeNull();
    expect(placeContradicts("corrected-in-place", "on-loan")).toBeNull();
  });
});
