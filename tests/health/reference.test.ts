import { describe, expect, it } from "vitest";
import { stateOfCharge } from "../../server/domain/battery/open-circuit-voltage.ts";
import { ewmaChart } from "../../server/domain/drift/ewma.ts";
import { millivolts } from "../../server/domain/units.ts";
import ewma from "../reference/ewma-nist.json" with { type: "json" };
import ocv from "../reference/open-circuit-voltage-lg-m50.json" with { type: "json" };

describe("health formulas agree with published values", () => {
  // Source: NIST/SEMATECH e-Handbook 6.3.2.4; its limits use a factor rounded to 0.4201, hence three decimals.
  it("the EWMA chart gives the handbook's smoothed values, limits and no crossing", () => {
    const chart = ewmaChart(ewma.input, ewma);
    expect(chart.smoothed.map((value) => Number(value.toFixed(2)))).toEqual(ewma.printed.ewma.slice(-20));
    expect(chart.upper).toBeCloseTo(ewma.printed.ucl, 3);
    expect(chart.lower).toBeCloseTo(ewma.printed.lcl, 3);
    expect(chart.firstCrossing).toBeNull();
  });

  // Source: Chen et al. 2020, J Electrochem Soc 167 080534, LG M50 electrode functions.
  it("a rested voltage reads back the published state of charge to within half a per cent", () => {
    for (const [percent, volts] of ocv.table) {
      if (percent === undefined || volts === undefined) throw new Error("a row of the table is short");
      expect(Math.abs(stateOfCharge(millivolts(volts * 1000)).best - percent / 100)).toBeLessThan(0.005);
    }
  });
});
