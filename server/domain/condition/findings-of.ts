import type { BatteryHealth } from "../battery/battery-health.ts";
import type { OffsetDriftResult } from "../drift/empty-offset-drift.ts";
import type { LinkQuality } from "../link/link-quality.ts";
import type { RecordedFault, SeatState } from "../record/unit-record.ts";
import type { CellState } from "../sensor-grid/cell-states.ts";
import type { SilentLine } from "../sensor-grid/silent-lines.ts";
import { type Instant, type Probability, probability } from "../units.ts";
import type { ConditionLevel, FindingKind, LeanVisibility } from "./condition.ts";

/** What was computed about a unit; a part is null where there was too little to go by. */
export interface UnitHealth {
  readonly assessedAt: Instant;
  readonly battery: BatteryHealth | null;
  readonly grid: GridHealth | null;
  readonly drift: OffsetDriftResult | null;
  readonly link: LinkQuality;
  readonly faults: readonly RecordedFault[];
}

export interface GridHealth {
  readonly rows: number;
  readonly columns: number;
  readonly states: readonly CellState[];
  readonly lines: readonly SilentLine[];
  readonly visibility: readonly LeanVisibility[];
  readonly frames: Readonly<Record<SeatState, number>>;
}

/** A finding before it has a row of its own. `kind` and `where` name it from one assessment to the next. */
export interface FoundNow {
  readonly kind: FindingKind;
  readonly where: string;
  readonly level: ConditionLevel;
  readonly probability: Probability;
  readonly since: Instant;
  readonly sentence: string;
  readonly mistakenFor: string;
  readonly settledBy: string;
}

/** Capacity kept at which a cell is conventionally worn out (80 % of rated; maker's data sheets). */
const wornBelow = 0.8;
/** Empty reading may creep this far, as a share of span. Assumption; the maker's tolerance wins. */
const offsetTolerance = 0.02;
const day = 24 * 3_600_000;

export function findingsOf(health: UnitHealth): FoundNow[] {
  return [
    ...hazards(health),
    ...gridFindings(health),
    ...batteryFindings(health),
    ...driftFindings(health),
    ...linkFindings(health),
  ];
}

/** Heat on charge and wet electronics come before everything: somebody sits on this. */
function hazards({ faults }: UnitHealth): FoundNow[] {
  const latest = (codes: readonly string[]) => faults.filter((fault) => codes.includes(fault.code)).at(-1);
  const heat = latest(["charge-too-hot", "cell-hot"]);
  const wet = latest(["wet"]);
  const found: FoundNow[] = [];
  if (heat)
    found.push({
      kind: "charge-heat",
      where: "",
      level: "act-now",
      probability: probability(0.9),
      since: heat.at,
      sentence:
        "The cell was hot. Stop charging, do not press or open it, move it off the seat or bed if that is safe, into a ventilated place. Fire: leave and call the emergency service.",
      mistakenFor: "a charger under a blanket, or a hot room",
      settledBy:
        "A look by phone with the script, without pressing; then the bench, never by an ordinary van.",
    });
  if (wet)
    found.push({
      kind: "wet",
      where: "",
      level: "act-now",
      probability: probability(0.85),
      since: wet.at,
      sentence: "The unit says it is wet. Stop charging it until it has been looked at.",
      mistakenFor: "a long warm sit",
      settledBy: "An empty reading and a look under the cover. Handle continence kindly.",
    });
  return found;
}

function gridFindings({ grid }: UnitHealth): FoundNow[] {
  if (!grid) return [];
  const hidden = grid.visibility.filter(({ sight }) => sight !== "sees");
  const hides =
    hidden.length === 0
      ? "It hides no lean of this person's usual depth."
      : `Of ten reliefs it would show: ${hidden.map(({ direction, outOfTen }) => `${direction} ${Math.round(outOfTen.best)}`).join(", ")}.`;
  const lines = grid.lines.map(
    (silent): FoundNow => ({
      kind: silent.line === "row" ? "row-open" : "column-open",
      where: lineName(silent, grid),
      level: hidden.length > 0 ? "act-soon" : "watch",
      probability: silent.probability,
      since: silent.since,
      sentence: `${capital(lineName(silent, grid))} has not answered in ${silent.sitsAgreeing} ${silent.sitsAgreeing === 1 ? "sit" : "sits"} though the cells beside it did. ${hides}`,
      mistakenFor: "somebody who always sits to the other side",
      settledBy: "A line sweep on the bench; at home, a lean test watched with live frames.",
    }),
  );
  const stuck = grid.states.flatMap((state, cell) => (state === "stuck" ? [cell] : []));
  const cells = stuck.map(
    (cell): FoundNow => ({
      kind: "cell-stuck",
      where: `row ${Math.floor(cell / grid.columns) + 1}, column ${(cell % grid.columns) + 1}`,
      level: "watch",
      probability: probability(0.8),
      since: 0 as Instant,
      sentence: `The cell in row ${Math.floor(cell / grid.columns) + 1}, column ${(cell % grid.columns) + 1} reads the same loaded and empty.`,
      mistakenFor: "an object left on the seat",
      settledBy: "An empty reading after somebody has looked at the seat.",
    }),
  );
  return [...lines, ...cells];
}

function lineName(silent: SilentLine, grid: GridHealth): string {
  if (silent.line === "row")
    return `row ${silent.index + 1} of ${grid.rows}, ${2 * silent.index + 1 < grid.rows ? "front" : "rear"} half`;
  return `column ${silent.index + 1} of ${grid.columns}, ${2 * silent.index + 1 < grid.columns ? "left" : "right"} side`;
}

function batteryFindings({ battery, assessedAt }: UnitHealth): FoundNow[] {
  if (!battery) return [];
  const found: FoundNow[] = [];
  const { endurance } = battery;
  if (endurance && endurance.kept.high < wornBelow)
    found.push({
      kind: "capacity-fade",
      where: "",
      level: "act-soon",
      probability: probability(0.9),
      since: battery.chargeAt,
      sentence: `A full charge lasts about ${Math.round(endurance.recent)} h; it lasted about ${Math.round(endurance.first)} h at first.`,
      mistakenFor: "somebody who now sits longer each day",
      settledBy: "A discharge on the bench: below 80 % of rated is worn.",
    });
  const lately = battery.ranFlat.filter((at) => at > assessedAt - 14 * day);
  const first = lately[0];
  if (first !== undefined)
    found.push({
      kind: "flat-battery",
      where: "",
      level: lately.length > 1 ? "act-soon" : "watch",
      probability: probability(0.97),
      since: first,
      sentence: `The battery reached its cut-off ${lately.length === 1 ? "once" : `${lately.length} times`} in 14 days. Nothing is recorded while it is flat.`,
      mistakenFor: "somebody away from home",
      settledBy: "A call about when and where it is charged; a known-good charger if it is.",
    });
  return found;
}

function driftFindings({ drift }: UnitHealth): FoundNow[] {
  if (drift?.kind !== "charted" || drift.drift.leftLimitsAt === null) return [];
  const { chart, points, slopePerMonth, leftLimitsAt } = drift.drift;
  const moved = (chart.smoothed.at(-1) ?? chart.centre) - chart.centre;
  if (points.length === 0) return [];
  return [
    {
      kind: "zero-drift",
      where: "",
      level: Math.abs(moved) > offsetTolerance ? "act-soon" : "watch",
      probability: probability(0.85),
      since: leftLimitsAt,
      sentence: `The empty reading has moved by ${(100 * moved).toFixed(1)} % of span (${(100 * slopePerMonth).toFixed(1)} % a month). Tolerance is ${100 * offsetTolerance} % (assumption; the maker's wins).`,
      mistakenFor: "a warmer room, an object left on the seat, or moisture",
      settledBy: "Empty frames at two temperatures on the bench.",
    },
  ];
}

function linkFindings({ link, assessedAt }: UnitHealth): FoundNow[] {
  const found: FoundNow[] = [];
  const base = { where: "", since: link.over.start, probability: probability(0.8) } as const;
  const withoutRelay = link.recordedMinutes === 0 ? 0 : link.minutesWithoutRelay / link.recordedMinutes;
  if (withoutRelay > 0.1 || (link.medianSignal !== null && link.medianSignal < -88))
    found.push({
      ...base,
      kind: "weak-link",
      level: "watch",
      sentence: `The unit had no relay to talk to for ${Math.round(100 * withoutRelay)} % of the time it recorded.`,
      mistakenFor: "somebody often out",
      settledBy: "Moving the relay nearer; a call first.",
    });
  if (link.messagesLost > 0)
    found.push({
      ...base,
      kind: "store-overrun",
      level: "watch",
      probability: probability(0.99),
      sentence: `Its own store ran over: ${link.messagesLost} messages are lost for good.`,
      mistakenFor: "days away",
      settledBy: "Buffer arithmetic: how long it was without a link against what its store holds.",
    });
  if (link.unwantedRestarts >= 6 && link.over.end <= assessedAt + day)
    found.push({
      ...base,
      kind: "reset-loop",
      level: "act-soon",
      sentence: `It restarted ${link.unwantedRestarts} times without being asked to.`,
      mistakenFor: "being switched on and off",
      settledBy: "Reset reasons in the log; known-good charger; connector check.",
    });
  return found;
}

const capital = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);
