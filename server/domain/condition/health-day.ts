import { type BatteryDay, batteryDay } from "../battery/battery-day.ts";
import { dayLoad } from "../drift/settled-load.ts";
import { type CountedBack, clockDay } from "../link/clock-day.ts";
import { type LinkDayCounts, linkDay } from "../link/link-day.ts";
import { type RelayDay, relayDay } from "../link/relay-day.ts";
import type { RecordedSelfTest } from "../record/told-events.ts";
import type { RecordedBoot, RecordedFault, RecordedRelief, UnitRecord } from "../record/unit-record.ts";
import { type GridDay, gridDay } from "../sensor-grid/grid-day.ts";
import { noFlicker } from "../sensor-grid/quiet-lines.ts";
import type { Instant, Span } from "../units.ts";
import { type BaselineChange, lastChange } from "./baseline-change.ts";
import { type ChargeHazards, chargeHazards } from "./charge-hazards.ts";

/** Changes whenever a day is told otherwise than before: days kept by an older version are worked out anew. */
export const healthDayVersion = 7;

/** What one day of a unit's record says of its health: sufficient for every judgement of the weeks after it, so that no
 *  day's record is read twice. It follows from that day's record and the days before alone. */
export interface HealthDay {
  readonly span: Span;
  /** Since when readings may be compared: a swap, a wash, the bench, a chair or new firmware begins anew. */
  readonly baselineSince: Instant;
  /** Since when the load may be compared with how it used to lie: a swap, the bench or a chair begins anew. */
  readonly lyingSince: Instant;
  /** As it last was: a day without a picture carries what the days before know. */
  readonly grid: GridDay | null;
  readonly pictures: boolean;
  readonly battery: BatteryDay;
  /** Kilograms, settled; null where too little was. */
  readonly load: number | null;
  readonly link: LinkDayCounts;
  readonly relay: RelayDay;
  readonly clock: readonly CountedBack[];
  readonly firmware: string | null;
  readonly boots: readonly RecordedBoot[];
  readonly faults: readonly RecordedFault[];
  readonly reliefs: readonly RecordedRelief[];
  readonly charge: ChargeHazards;
  readonly selfTests: readonly RecordedSelfTest[];
}

/** Days before that a day is told by: a baseline is carried from each to the next, usual empty readings come of a week. */
export const daysBefore = 8;

/** @param record of one day; @param span the day; @param earlier days that have a record, oldest first, of the same
 *  person and unit; @param changes at which comparing begins anew */
export function healthDay(
  record: UnitRecord,
  span: Span,
  earlier: readonly HealthDay[],
  changes: readonly BaselineChange[] = [],
): HealthDay {
  const yesterday = earlier.at(-1) ?? null;
  const lyingSince = lastChange(changes, alters.lying, yesterday?.lyingSince ?? span.start, span.end);
  const known = earlier.filter((day) => day.lyingSince === lyingSince && day.pictures);
  const today = gridDay(
    record.frames.filter(({ at }) => at >= lyingSince),
    known.flatMap(({ grid }) => grid ?? []),
  );
  return {
    span,
    baselineSince: baselineOn(record, span, yesterday, changes),
    lyingSince,
    grid: today ?? (yesterday?.lyingSince === lyingSince ? withoutPictures(yesterday.grid) : null),
    pictures: today !== null,
    battery: batteryDay(record.minutes, record.powerEvents),
    load: dayLoad(record.minutes),
    link: linkDay(record.minutes),
    relay: relayDay(record.relayHeartbeats, record.greetings),
    clock: clockDay(record.relayHeartbeats),
    firmware: record.boots.at(-1)?.firmware ?? yesterday?.firmware ?? null,
    boots: record.boots,
    faults: record.faults,
    reliefs: record.reliefs,
    charge: chargeHazards(record),
    selfTests: record.selfTests,
  };
}

const alters = {
  readings: new Set(["wash", "chair", "bench"] as const),
  lying: new Set(["chair", "bench"] as const),
};

/** What new firmware makes of a grid is another reading. */
function baselineOn(
  { boots }: UnitRecord,
  span: Span,
  yesterday: HealthDay | null,
  changes: readonly BaselineChange[],
): Instant {
  let since = lastChange(changes, alters.readings, yesterday?.baselineSince ?? span.start, span.end);
  let firmware = yesterday?.firmware ?? null;
  for (const boot of boots) {
    if (firmware !== null && boot.firmware !== firmware && boot.at > since) since = boot.at;
    firmware = boot.firmware;
  }
  return since;
}

const withoutPictures = (grid: GridDay | null): GridDay | null =>
  grid && {
    ...grid,
    sits: [],
    maps: [],
    looks: [],
    flicker: noFlicker,
    frames: { loaded: 0, empty: 0 },
    empty: { frames: 0, counts: new Float64Array(0), tenths: 0, squaredTenths: 0, tenthsByCounts: 0 },
  };
