import { type BatteryHealth, batteryHealth } from "../battery/battery-health.ts";
import { emptyOffsetDrift, type OffsetDriftResult } from "../drift/empty-offset-drift.ts";
import { type LinkQuality, linkQuality } from "../link/link-quality.ts";
import type { RecordedFault, UnitRecord } from "../record/unit-record.ts";
import { type GridHealth, gridHealth } from "../sensor-grid/grid-health.ts";
import type { Instant, Span } from "../units.ts";

/** What was computed about a unit; a part is null where there was too little to go by. */
export interface UnitHealth {
  readonly assessedAt: Instant;
  readonly over: Span;
  readonly battery: BatteryHealth | null;
  readonly grid: GridHealth | null;
  readonly drift: OffsetDriftResult | null;
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
  return {
    assessedAt,
    over,
    battery: batteryHealth(record.minutes, record.faults),
    grid,
    drift: emptyOffsetDrift(record.frames, grid?.states ?? null),
    link: linkQuality(record, over, days),
    faults: record.faults,
  };
}
