import type { OutageFigures } from "./fleet-outage.ts";
import { type IdentityFigures, plantedKinds } from "./identity.ts";
import { brierScore, calibrationError, percent, shareOf } from "./measures.ts";
import { atLeast, atMost, beside, type Row } from "./rows.ts";
import { type ScoredThin, type ScoredWeek, says } from "./score-programme.ts";

/** A thin stretch settled as the person's says "not done"; as device or handling, "done, or not theirs, and not shown". */
export function thinRows(thin: readonly ScoredThin[]): Row[] {
  const asked = thin.filter((one) => one.doneUnseen !== null);
  const settled = asked.filter(({ outcome }) => outcome !== "not-settled");
  const unit = thin.filter(({ side }) => side === "device");
  return [
    beside("thin stretches: how many", thin.length, ""),
    atLeast(
      "thin stretches: seen-or-done right, of those settled",
      percent(settled, (one) => (one.outcome !== "person") === one.doneUnseen),
      "%",
      95,
    ),
    beside("thin stretches: not settled", percent(thin, says("not-settled")), "%"),
    beside("thin stretches: device called person", percent(unit, says("person")), "%"),
    beside("thin stretches: calibration error", calibrationError(thin), ""),
    beside("thin stretches: Brier score", brierScore(thin), ""),
  ];
}

export function outageRows(figures: OutageFigures): Row[] {
  const { fleetFound, areaFound, outages, falseAYear, fleetYears } = figures;
  return [
    atLeast(
      `fleet outage found within 5 min of its fifth silent unit, of ${outages}`,
      100 * fleetFound,
      "%",
      99,
    ),
    beside(`outage of one area found as soon, of ${outages}`, 100 * areaFound, "%"),
    atMost(`false incidents a fleet-year, over ${fleetYears}`, falseAYear, "", 1),
  ];
}

export function weekRows(weeks: readonly ScoredWeek[]): Row[] {
  const asked = weeks.map(({ inside }) => inside).filter((inside) => inside !== null);
  const narrower = weeks.map((week) => week.narrower).filter((inside) => inside !== null);
  const widths = weeks.map(({ width }) => width).filter((width) => width !== null);
  return [
    beside("person-weeks", asked.length, ""),
    atLeast(
      "true adherence inside the no-assumption bounds",
      100 * shareOf(asked, (inside) => inside),
      "%",
      100,
    ),
    atLeast(
      "true adherence inside the narrower range, where one is told",
      100 * shareOf(narrower, (inside) => inside),
      "%",
      95,
    ),
    beside("person-weeks with a narrower range", narrower.length, ""),
    beside(
      "width of the narrower range against the bounds, mean",
      (100 * widths.reduce((sum, width) => sum + width, 0)) / Math.max(1, widths.length),
      "%",
    ),
  ];
}

export function identityRows({ unitYears, falselyAsked, found }: IdentityFigures): Row[] {
  return [
    beside(
      `whose record it is, asked wrongly a unit-year, over ${unitYears.toFixed(1)}`,
      falselyAsked / unitYears,
      "",
    ),
    ...plantedKinds.map((kind) =>
      beside(
        `${kind}, asked about within a week, of ${found[kind].planted}`,
        (100 * found[kind].asked) / Math.max(1, found[kind].planted),
        "%",
      ),
    ),
  ];
}
