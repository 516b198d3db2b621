import { type BatteryHealth, batteryHealth } from "../battery/battery-health.ts";
import { type CellDescription, usualCell } from "../battery/cell-description.ts";
import { emptyOffsetDrift, type OffsetDriftResult } from "../drift/empty-offset-drift.ts";
import { type LoadChange, settledLoad } from "../drift/settled-load.ts";
import { type FirmwareChange, lastFirmwareChange } from "../firmware/firmware-change.ts";
import { type LinkQuality, linkQuality } from "../link/link-quality.ts";
import type { RecordedSelfTest } from "../record/told-events.ts";
import type { RecordedFault, SequenceHole, UnitRecord } from "../record/unit-record.ts";
import { isBroken } from "../sensor-grid/cell-states.ts";
import type { GridShape } from "../sensor-grid/expected-response.ts";
import { type GridHealth, gridHealth } from "../sensor-grid/grid-health.ts";
import type { MaskedCells } from "../sensor-grid/masked-cells.ts";
import { type Instant, instant, millisecondsIn, type Span } from "../units.ts";
import type { BaselineChange } from "./baseline-change.ts";
import { type ChargeHazards, latestHazards } from "./charge-hazards.ts";
import { daysBefore, type HealthDay, healthDay } from "./health-day.ts";
import { recordWithin } from "./record-within.ts";

/** What was computed about a unit; a part is null where there was too little to go by. */
export interface UnitHealth {
  readonly assessedAt: Instant;
  readonly over: Span;
  /** Since when readings are compared with each other; null: nothing is on record. */
  readonly baselineSince: Instant | null;
  readonly battery: BatteryHealth | null;
  readonly grid: GridHealth | null;
  readonly drift: OffsetDriftResult | null;
  /** null too where something broken takes part of the load out of the sum. */
  readonly load: LoadChange | null;
  readonly link: LinkQuality;
  readonly faults: readonly RecordedFault[];
  readonly charge: ChargeHazards;
  readonly selfTests: readonly RecordedSelfTest[];
  /** null: it kept the firmware it had. */
  readonly newFirmware: FirmwareChange | null;
}

/** What is known of the unit beside its record. */
export interface OfTheUnit {
  /** At the bench before the time that is judged; null: none. */
  readonly masked: MaskedCells | null;
  readonly cell: CellDescription;
}

const plainUnit: OfTheUnit = { masked: null, cell: usualCell };

const plainDay = 24 * millisecondsIn.hour;

/** What a person's cushion did in four weeks says how it is now; what it did under somebody else says little. */
export const daysJudged = 28;

/** The part of a record's time that is judged. */
export const judgedOver = ({ start, end }: Span, now: Instant): Span => ({
  start: instant(Math.max(start, now - daysJudged * plainDay)),
  end,
});

/** @param days that have a record, oldest first, of one unit under one person, all within `over`
 *  @param holes in what it told in that time */
export function healthOfDays(
  days: readonly HealthDay[],
  holes: readonly SequenceHole[],
  over: Span,
  assessedAt: Instant,
  own: OfTheUnit = plainUnit,
): UnitHealth {
  const newest = days.at(-1) ?? null;
  const reliefs = days.flatMap((day) => day.reliefs);
  const faults = days.flatMap((day) => day.faults);
  const boots = days.flatMap((day) => day.boots);
  const pictured = days.filter((day) => day.pictures && day.lyingSince === newest?.lyingSince);
  const grid = gridHealth(
    pictured.flatMap((day) => day.grid ?? []),
    reliefs.filter(({ at }) => at >= (newest?.lyingSince ?? over.start)),
    own.masked,
  );
  // A day in which the baseline began is of neither time.
  const comparable = days.filter(({ span }) => span.start >= (newest?.baselineSince ?? over.start));
  const broken = grid !== null && isBroken(grid.states);
  return {
    assessedAt,
    over,
    baselineSince: newest?.baselineSince ?? null,
    battery: batteryHealth(
      days.map((day) => day.battery),
      { faults, boots, holes },
      own.cell,
    ),
    grid,
    drift: emptyOffsetDrift(emptyDays(comparable, newest?.grid ?? null), grid?.states ?? null),
    load: broken ? null : settledLoad(loadPoints(comparable)),
    link: linkQuality(
      over,
      days.map(({ span, link, relay, clock }) => ({ span, counts: link, relay, clock })),
      { boots, holes, faults, cells: days.flatMap(lastCells) },
    ),
    faults,
    charge: latestHazards(days.map(({ charge }) => charge)),
    selfTests: days.flatMap(({ selfTests }) => selfTests),
    newFirmware: lastFirmwareChange(days),
  };
}

/** What a day's runs on battery last told of the cell. */
export const lastCells = ({ battery }: HealthDay) =>
  battery.runs.flatMap(({ charging, last, tail }) =>
    charging ? [] : [{ at: last, millivolts: tail.at(-1) ?? Number.POSITIVE_INFINITY }],
  );

const middleOf = ({ start, end }: Span): Instant => instant((start + end) / 2);

function emptyDays(days: readonly HealthDay[], shape: GridShape | null) {
  return days.flatMap(({ span, grid, pictures }) =>
    pictures && grid && shape && grid.rows === shape.rows && grid.columns === shape.columns
      ? [{ at: middleOf(span), sums: grid.empty }]
      : [],
  );
}

const loadPoints = (days: readonly HealthDay[]) =>
  days.flatMap(({ span, load }) => (load === null ? [] : [{ at: middleOf(span), level: load }]));

/** The same from a record as it stands, day by day, as the console keeps it.
 *  @param days that tile `over`, oldest first; none: days of 24 hours from its start
 *  @param changes at which comparing begins anew */
export function unitHealth(
  record: UnitRecord,
  over: Span,
  days: readonly Span[],
  assessedAt: Instant,
  changes: readonly BaselineChange[] = [],
  own: OfTheUnit = plainUnit,
): UnitHealth {
  const told = healthDays(record, days.length > 0 ? days : plainDays(over), changes);
  const judged = judgedOver(over, assessedAt);
  return healthOfDays(
    told.filter(({ span }) => span.end > judged.start),
    record.holes,
    judged,
    assessedAt,
    own,
  );
}

/** @returns one for each day that has a record */
export function healthDays(
  record: UnitRecord,
  days: readonly Span[],
  changes: readonly BaselineChange[] = [],
): HealthDay[] {
  const told: HealthDay[] = [];
  for (const day of days) {
    const ofDay = recordWithin(record, day);
    if (ofDay) told.push(healthDay(ofDay, day, told.slice(-daysBefore), changes));
  }
  return told;
}

function plainDays({ start, end }: Span): Span[] {
  const days: Span[] = [];
  for (let from: number = start; from < end; from += plainDay)
    days.push({ start: instant(from), end: instant(Math.min(end, from + plainDay)) });
  return days;
}
