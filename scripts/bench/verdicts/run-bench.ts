import { loadavg } from "node:os";
import { fleetOutages } from "./fleet-outage.ts";
import { identityFigures } from "./identity.ts";
import { kept, sourcesName } from "./kept.ts";
import { brierParts, brierScore, calibrationError, percent, type Scored, shareOf } from "./measures.ts";
import { oneMoreDay } from "./one-more-day.ts";
import { oneYearOfVerdicts } from "./one-year.ts";
import type { BenchOptions } from "./options.ts";
import { learnOracle } from "./oracle.ts";
import { identityRows, outageRows, thinRows, weekRows } from "./other-rows.ts";
import { atLeast, atMost, beside, printConfusion, type Row } from "./rows.ts";
import {
  type ScoredGap,
  type ScoredProgramme,
  type ScoredThin,
  type ScoredVerdict,
  says,
  scoreProgramme,
} from "./score-programme.ts";
import { ordinaryWorld, shiftedWorld, type World } from "./world.ts";
import { yearFromRaw } from "./year-from-raw.ts";

export async function runBench(options: BenchOptions): Promise<Row[]> {
  process.stdout.write(
    `${options.seeds.length} programmes of ${options.people} people for ${options.days} days, seeds ${options.seeds.join(", ")}; load ${loadavg()[0]?.toFixed(1)}\n`,
  );
  const sources = sourcesName();
  const play = (world: World, seeds: readonly number[]) => played(sources, world, seeds, options);
  const oneYear = oneYearOfVerdicts(ordinaryWorld, options.seeds[0] ?? 101);
  const rawDays = options.quick ? 60 : 365;
  const raw = await yearFromRaw(options.seeds[0] ?? 101, rawDays);
  const young = await yearFromRaw(options.seeds[0] ?? 101, 84);
  const moreDay = oneMoreDay(ordinaryWorld, options.seeds[0] ?? 101);
  const outages = fleetOutages(
    options.seeds[0] ?? 101,
    options.quick ? { outages: 30, fleetYears: 1 } : { outages: 300, fleetYears: 6 },
  );
  const identity = identityFigures(ordinaryWorld, options.seeds[0] ?? 101, options.quick ? 12 : 100);
  const ordinary = play(ordinaryWorld, options.seeds);
  const shifted = play(shiftedWorld, options.shiftedSeeds);
  const seen = play(ordinaryWorld, options.oracleSeeds);
  const finals = (from: ScoredProgramme) => from.gaps.filter(({ moment }) => moment === "final");
  const all = (from: ScoredProgramme) => from.gaps.filter(({ moment }) => moment !== "as-found");
  const asFound = (from: ScoredProgramme) => from.gaps.filter(({ moment }) => moment === "as-found");
  printTables(finals(ordinary), ordinary.thin);
  return [
    ...gapRows("gaps", all(ordinary), all(seen), { open: 0.12, calibration: 0.02 }),
    ...gapRows("gaps never filled", finals(ordinary), finals(seen), { open: 0.12, calibration: 0.02 }),
    ...gapRows("gaps while they go on", asFound(ordinary), asFound(seen), null),
    ...gapRows("shifted world, gaps", all(shifted), null, { open: 0.2, calibration: 0.05 }),
    ...gapRows("shifted world, gaps never filled", finals(shifted), null, { open: 0.2, calibration: 0.05 }),
    ...minuteRows(finals(ordinary)),
    ...thinRows(ordinary.thin),
    ...outageRows(outages),
    ...identityRows(identity),
    ...weekRows(ordinary.weeks),
    // Of a part of a year nothing can be said of the bar.
    options.quick
      ? beside(`one unit's ${rawDays} days of verdicts, from raw`, raw.yearMilliseconds, "ms")
      : atMost("one unit's year of verdicts, from raw", raw.yearMilliseconds, "ms", 500),
    beside("the same, from its placed record", oneYear, "ms"),
    // No bar: in a fleet each new gap has its neighbours' judged again, and that is not in it.
    beside("one more day for 10,000 units, from raw, each as if alone", raw.moreDaySeconds, "s"),
    beside("the same after twelve weeks", young.moreDaySeconds, "s"),
    beside("the same, from their placed records", moreDay, "s"),
  ];
}

/** One seed at a time, each kept when done. */
function played(
  sources: string,
  world: World,
  seeds: readonly number[],
  { people, days }: BenchOptions,
): ScoredProgramme {
  const programmes = seeds.map((seed) =>
    kept(sources, `${world.name}-${seed}-${people}-${days}`, () => {
      const size = { seed, people, days, areas: Math.ceil(people / 15) };
      const scored = scoreProgramme(world, size);
      process.stderr.write(`${world.name} ${seed}: ${scored.gaps.length} gaps, ${scored.thin.length} thin\n`);
      return scored;
    }),
  );
  return {
    gaps: programmes.flatMap(({ gaps }) => gaps),
    thin: programmes.flatMap(({ thin }) => thin),
    weeks: programmes.flatMap(({ weeks }) => weeks),
  };
}

function gapRows(
  what: string,
  gaps: readonly ScoredGap[],
  learnFrom: readonly ScoredGap[] | null,
  bars: { readonly open: number; readonly calibration: number } | null,
): Row[] {
  const settled = gaps.filter(({ outcome }) => outcome !== "not-settled");
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
      percent(gaps, (gap) => gap.byLongest === gap.side),
      "%",
    ),
    beside(
      `${what}: battery-then-link rule right`,
      percent(gaps, (gap) => gap.byBattery === gap.side),
      "%",
    ),
    beside(
      `${what}: best guess right`,
      percent(gaps, ({ leading, side }) => leading === side),
      "%",
    ),
  );
  const parts = brierParts(
    gaps.map(({ shares, truth }) => {
      const probability = Math.max(...shares);
      return { probability, happened: shares.indexOf(probability) === truth };
    }),
    20,
  );
  rows.push(
    beside(`${what}: reliability of the winning side`, parts.reliability, ""),
    beside(`${what}: its resolution`, parts.resolution, ""),
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

/** A gap is one verdict, though it may have had two reasons one after the other: how many of its minutes the side that
 *  is named first is right for. Where part of such a gap came in later, the ledger has split it already. */
function minuteRows(gaps: readonly ScoredGap[]): Row[] {
  const total = (list: readonly ScoredGap[], of: (gap: ScoredGap) => number) =>
    list.reduce((sum, gap) => sum + of(gap), 0);
  const all = (gap: ScoredGap) => Object.values(gap.minutes).reduce((sum, count) => sum + count, 0);
  const right = (gap: ScoredGap) => gap.minutes[gap.leading] ?? 0;
  const mixed = gaps.filter(
    ({ minutes }) => Object.values(minutes).filter((count) => count >= 20).length > 1,
  );
  return [
    beside(
      "gaps never filled: minutes put on the right side",
      (100 * total(gaps, right)) / total(gaps, all),
      "%",
    ),
    beside("gaps never filled with two sides behind them", mixed.length, ""),
    beside(
      "their minutes put on the right side",
      mixed.length === 0 ? 0 : (100 * total(mixed, right)) / total(mixed, all),
      "%",
    ),
  ];
}

const isRight = (one: ScoredVerdict): boolean => one.outcome === one.side;

function printTables(gaps: readonly ScoredGap[], thin: readonly ScoredThin[]): void {
  for (const [what, list] of [
    ["Gaps never filled", gaps],
    ["Thin stretches", thin],
  ] as const) {
    printConfusion(
      `${what}: side in truth and as said`,
      list.map(({ side, outcome }) => [side, outcome]),
    );
    printConfusion(
      `${what}: cause in truth and likeliest`,
      list.map(({ cause, likeliest }) => [cause, likeliest]),
    );
  }
  process.stdout.write("\n");
}
