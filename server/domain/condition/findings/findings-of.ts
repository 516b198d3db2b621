import type { FindingKind } from "../condition.ts";
import type { UnitHealth } from "../unit-health.ts";
import { batteryFindings } from "./battery-findings.ts";
import { chargeFindings } from "./charge-findings.ts";
import { driftFindings } from "./drift-findings.ts";
import type { FoundNow } from "./found-now.ts";
import { gridFindings } from "./grid-findings.ts";
import { gridUseFindings } from "./grid-use-findings.ts";
import { hazardFindings } from "./hazard-findings.ts";
import { linkFindings } from "./link-findings.ts";
import { selfTestFindings } from "./self-test-findings.ts";

export interface Findings {
  readonly found: readonly FoundNow[];
  /** Kinds there was something to judge by. A finding of another kind that isn't found now is neither there nor gone:
   *  nothing was seen. */
  readonly judged: ReadonlySet<FindingKind>;
}

export function findingsOf(health: UnitHealth): Findings {
  const judged = new Set<FindingKind>();
  if (health.grid) for (const kind of gridKinds) judged.add(kind);
  if (health.grid?.shapeJudged) for (const kind of lyingKinds) judged.add(kind);
  if (health.battery) for (const kind of batteryKinds) judged.add(kind);
  if (health.battery?.selfDischarge) judged.add("self-discharge");
  if (health.drift?.kind === "charted") judged.add("zero-drift");
  if (health.load) judged.add("gain-or-weight");
  if (health.selfTests.length > 0) judged.add("self-test-failed");
  if (health.link.recordedMinutes > 0) for (const kind of alarmKinds) judged.add(kind);
  return {
    found: [
      ...hazardFindings(health),
      ...chargeFindings(health),
      ...selfTestFindings(health),
      ...gridFindings(health),
      ...gridUseFindings(health),
      ...batteryFindings(health),
      ...driftFindings(health),
      ...linkFindings(health),
    ],
    judged,
  };
}

const gridKinds = [
  "row-open",
  "column-open",
  "cell-open",
  "cell-stuck",
  "lines-shorted",
  "connector-loose",
  "moisture",
] as const;
/** How the load lies: a broken grid says nothing of it, nor does one without a baseline. */
const lyingKinds = [
  "insert-turned",
  "insert-shifted",
  "insert-folded",
  "foam-bottoming",
  "cover-loose",
] as const;
const batteryKinds = ["capacity-fade", "flat-battery", "flat-soon", "resistance-rise"] as const;
/** A unit that fell silent after an alarm has not taken it back. */
const alarmKinds = [
  "charge-heat",
  "wet",
  "weak-link",
  "signal-fading",
  "link-comes-and-goes",
  "reset-loop",
  "store-overrun",
  "wet-on-charge",
  "charge-outside-limits",
  "charge-cold",
  "early-cut-off",
] as const;
