import { describe, expect, it } from "vitest";
import { stateOfCharge } from "../../server/domain/battery/open-circuit-voltage.ts";
import { ewmaChart } from "../../server/domain/drift/ewma.ts";
import { normalCdf, twoSidedDeviate } from "../../server/domain/statistics/normal.ts";
import { theilSenSlope } from "../../server/domain/statistics/theil-sen.ts";
import { wilsonInterval } from "../../server/domain/statistics/wilson.ts";
import { millivolts } from "../../server/domain/units.ts";
import ewma from "../reference/ewma-nist.json" with { type: "json" };
import ocv from "../reference/open-circuit-voltage-lg-m50.json" with { type: "json" };
import trend from "../reference/robust-trend.json" with { type: "json" };
import wilson from "../reference/wilson-newcombe-1998.json" with { type: "json" };

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

  // Source: Newcombe 1998, Statistics in Medicine 17:857, Table I.
  it.each(wilson.printed)("the Wilson interval of $x in $n is the printed one", ({ x, n, low, high }) => {
    const interval = wilsonInterval(x / n, n, wilson.level);
    expect(interval.low).toBeCloseTo(low, 4);
    expect(interval.high).toBeCloseTo(high, 4);
  });

  // Source: R package datasets, Nile; slope by R and scipy.
  it("the robust slope of a century of the Nile is -2.6 a year, and that of ten values 0.125", () => {
    const asPoints = (values: readonly number[]) => values.map((y, x) => ({ x, y }));
    expect(theilSenSlope(asPoints(trend.nile.flow))).toBeCloseTo(trend.nile.slope, 10);
    expect(theilSenSlope(asPoints(trend.tenWithoutTies.values))).toBeCloseTo(trend.tenWithoutTies.slope, 10);
  });

  // Any printed table of the normal distribution: 1.6449 and 1.9600.
  it("the normal distribution gives its tabled quantiles", () => {
    expect(twoSidedDeviate(0.9)).toBeCloseTo(1.6449, 4);
    expect(twoSidedDeviate(0.95)).toBeCloseTo(1.96, 4);
    expect(normalCdf(-1)).toBeCloseTo(0.1587, 4);
  });
});
