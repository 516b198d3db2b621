import { type BatteryHealth, batteryHealth } from "../battery/battery-health.ts";
import { baselineStart } from "../drift/baseline.ts";
import { emptyOffsetDrift, type OffsetDriftResult } from "../drift/empty-offset-drift.ts";
import { type LoadChange, settledLoad } from "../drift/settled-load.ts";
import { type LinkQuality, linkQuality } from "../link/link-quality.ts";
import type { RecordedFault, UnitRecord } from "../record/unit-record.ts";
import { works } from "../sensor-grid/cell-states.ts";
import { type GridHealth, gridHealth } from "../sensor-grid/grid-health.ts";
import type { Instant, Span } from "../units.ts";

/** What was computed about a unit; a part is null where there was too little to go by. */
export interface UnitHealth {
  readonly assessedAt: Instant;
  readonly over: Span;
  readonly battery: BatteryHealth | null;
  readonly grid: GridHealth | null;
  readonly drift: OffsetDriftResult | null;
  /** null too where something broken takes part of the load out of the sum. */
  readonly load: LoadChange | null;
  readonly link: LinkQuality;
  readonly faults: readonly RecordedFault[];
}

/** @param record of one unit over `over`, under one person; @param days local days that tile it */
export function unitHealth(
  record: UnitRecord,
  over: Span,
  days: readonly Span[],
  assessedAt: Instant,
): UnitHealth {
  const grid = gridHealth(record.frames, record.reliefs);
  const since = baselineStart(record.boots);
  const broken = grid?.states.some((state) => !works(state)) ?? false;
  return {
    assessedAt,
    over,
    battery: batteryHealth(record.minutes, record.faults),
    grid,
    drift: emptyOffsetDrift(
      record.frames.filter(({ at }) => at >= since),
      grid?.states ?? null,
    ),
    load: broken ? null : settledLoad(record.minutes.filter(({ at }) => at >= since)),
    link: linkQuality(record, over, days),
    faults: record.faults,
  };
}
