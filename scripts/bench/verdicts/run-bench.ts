import { loadavg } from "node:os";
import { type Judged, judgedGap, judgedThin } from "./judged.ts";
import { brierScore, calibrationError, type Scored, shareOf } from "./measures.ts";
import { oneYearOfVerdicts } from "./one-year.ts";
import type { BenchOptions } from "./options.ts";
import { learnOracle } from "./oracle.ts";
import { batteryThenLinkRule, longestGapRule } from "./plain-rules.ts";
import { atLeast, atMost, beside, printConfusion, type Row } from "./rows.ts";
import { type JudgeableGap, simulateProgramme } from "./simulate-programme.ts";
import type { ThinCase } from "./thin-cases.ts";
import { isInsideBounds, isInsideNarrower, type PersonWeek, widthShare } from "./weeks.ts";
import { ordinaryWorld, shiftedWorld, type World } from "./world.ts";

interface Played {
  readonly gaps: readonly Judged<JudgeableGap>[];
  readonly thin: readonly Judged<ThinCase>[];
  readonly weeks: readonly PersonWeek[];
}

export function runBench(options: BenchOptions): Row[] {
  process.stdout.write(
    `${options.seeds.length} programmes of ${options.people} people for ${options.days} days, seeds ${options.seeds.join(", ")}; load ${loadavg()[0]?.toFixed(1)}\n`,
  );
  const seen = play(ordinaryWorld, options.oracleSeeds, options);
  const ordinary = play(ordinaryWorld, options.seeds, options);
  const shifted = play(shiftedWorld, options.quick ? options.seeds : options.seeds.slice(0, 5), options);
  const finals = (from: Played) => from.gaps.filter((gap) => gap.case.moment === "final");
  const all = (from: Played) => from.gaps.filter((gap) => gap.case.moment !== "as-found");
  printTables(finals(ordinary), ordinary.thin);
  return [
    ...gapRows("gaps", all(ordinary), all(seen), { open: 0.12, calibration: 0.02 }),
    ...gapRows("gaps never filled", finals(ordinary), finals(seen), { open: 0.12, calibration: 0.02 }),
    ...gapRows(
      "gaps while they go on",
      ordinary.gaps.filter((gap) => gap.case.moment === "as-found"),
      seen.gaps.filter((gap) => gap.case.moment === "as-found"),
      null,
    ),
    ...gapRows("shifted world, gaps", all(shifted), null, { open: 0.2, calibration: 0.05 }),
    ...gapRows("shifted world, gaps never filled", finals(shifted), null, { open: 0.2, calibration: 0.05 }),
    ...thinRows(ordinary.thin),
    ...weekRows(ordinary.weeks),
    atMost(
      "one unit's year of verdicts, from its placed record",
      oneYearOfVerdicts(ordinaryWorld, options.seeds[0] ?? 101),
      "ms",
      500,
    ),
  ];
}

function play(world: World, seeds: readonly number[], { people, days }: BenchOptions): Played {
  const gaps: Judged<JudgeableGap>[] = [];
  const thin: Judged<ThinCase>[] = [];
  const weeks: PersonWeek[] = [];
  for (const seed of seeds) {
    const programme = simulateProgramme(world, { seed, people, days, areas: Math.ceil(people / 15) });
    gaps.push(...programme.gaps.filter(({ truth }) => truth !== "none").map(judgedGap));
    thin.push(...programme.thin.map(judgedThin));
    weeks.push(...programme.weeks);
    process.stderr.write(
      `${world.name} ${seed}: ${programme.gaps.length} gaps, ${programme.thin.length} thin\n`,
    );
  }
  return { gaps, thin, weeks };
}

function gapRows(
  what: string,
  gaps: readonly Judged<JudgeableGap>[],
  learnFrom: readonly Judged<JudgeableGap>[] | null,
  bars: { readonly open: number; readonly calibration: number } | null,
): Row[] {
  const settled = gaps.filter(({ verdict }) => verdict.outcome !== "not-settled");
  const unit = gaps.filter(({ side }) => side === "device" || side === "link");
  const own = gaps.filter(({ side }) => side === "person");
  const rows = [
    beside(`${what}: how many`, gaps.length, ""),
    atMost(`${what}: device or link called person`, percent(unit, says("person")), "%", 0.5),
    atMost(`${what}: person called device`, percent(own, says("device")), "%", 2),
    atLeast(`${what}: side right, of those settled`, percent(settled, isRight), "%", 97),
  ];
  const open = percent(gaps, says("not-settled"));
  const error = calibrationError(gaps);
  rows.push(
    bars
      ? atMost(`${what}: not settled`, open, "%", bars.open * 100)
      : beside(`${what}: not settled`, open, "%"),
    bars
      ? atMost(`${what}: calibration error`, error, "", bars.calibration)
      : beside(`${what}: calibration error`, error, ""),
  );
  rows.push(
    beside(
      `${what}: longest-gap rule right`,
      percent(gaps, (gap) => longestGapRule(gap.case.context) === gap.side),
      "%",
    ),
    beside(
      `${what}: battery-then-link rule right`,
      percent(gaps, (gap) => batteryThenLinkRule(gap.case.context) === gap.side),
      "%",
    ),
    beside(
      `${what}: best guess right`,
      percent(gaps, ({ verdict, side }) => verdict.leadingSide === side),
      "%",
    ),
  );
  if (learnFrom === null) return rows;
  const oracle = learnOracle(learnFrom);
  const known = gaps.map((gap): Scored => ({ truth: gap.truth, shares: oracle.sharesOf(gap.clues) }));
  const ratio = brierScore(gaps) / brierScore(known);
  return [
    ...rows,
    beside(`${what}: Brier score`, brierScore(gaps), ""),
    beside(`${what}: Brier score of the oracle`, brierScore(known), ""),
    bars
      ? atMost(`${what}: Brier score against the oracle`, ratio, "times", 1.15)
      : beside(`${what}: Brier score against the oracle`, ratio, "times"),
    beside(
      `${what}: oracle's best guess right`,
      100 * shareOf(known, ({ shares, truth }) => shares.indexOf(Math.max(...shares)) === truth),
      "%",
    ),
  ];
}

/** A thin stretch settled as the person's says "not done"; as device or handling, "done, or not theirs, and not shown". */
function thinRows(thin: readonly Judged<ThinCase>[]): Row[] {
  const asked = thin.filter((one) => one.case.doneUnseen !== null);
  const settled = asked.filter(({ verdict }) => verdict.outcome !== "not-settled");
  const unit = thin.filter(({ side }) => side === "device");
  return [
    beside("thin stretches: how many", thin.length, ""),
    atLeast(
      "thin stretches: seen-or-done right, of those settled",
      percent(settled, (one) => (one.verdict.outcome !== "person") === one.case.doneUnseen),
      "%",
      95,
    ),
    beside("thin stretches: not settled", percent(thin, says("not-settled")), "%"),
    beside("thin stretches: device called person", percent(unit, says("person")), "%"),
    beside("thin stretches: calibration error", calibrationError(thin), ""),
    beside("thin stretches: Brier score", brierScore(thin), ""),
  ];
}

function weekRows(weeks: readonly PersonWeek[]): Row[] {
  const asked = weeks.map(isInsideBounds).filter((inside) => inside !== null);
  const narrower = weeks.map(isInsideNarrower).filter((inside) => inside !== null);
  const widths = weeks.map(widthShare).filter((width) => width !== null);
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

const says = (outcome: string) => (one: Judged<unknown>) => one.verdict.outcome === outcome;
const isRight = (one: Judged<unknown>): boolean => one.verdict.outcome === one.side;
const percent = <Item>(items: readonly Item[], is: (item: Item) => boolean): number =>
  100 * shareOf(items, is);

function printTables(gaps: readonly Judged<JudgeableGap>[], thin: readonly Judged<ThinCase>[]): void {
  const outcome = (one: Judged<unknown>) => one.verdict.outcome;
  const cause = (one: Judged<unknown>) => one.verdict.causes[0]?.cause ?? "";
  printConfusion(
    "Gaps never filled: side in truth and as said",
    gaps.map((one) => [one.side, outcome(one)]),
  );
  printConfusion(
    "Gaps never filled: cause in truth and likeliest",
    gaps.map((one) => [one.case.truth, cause(one)]),
  );
  printConfusion(
    "Thin stretches: side in truth and as said",
    thin.map((one) => [one.side, outcome(one)]),
  );
  printConfusion(
    "Thin stretches: cause in truth and likeliest",
    thin.map((one) => [one.case.truth, cause(one)]),
  );
  process.stdout.write("\n");
}
