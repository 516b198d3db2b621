import type { BatteryStart } from "./battery.ts";
import type { Fault, RadioSurroundings } from "./faults.ts";
import type { GridModel } from "./seat-load.ts";

export interface CushionSpec {
  readonly serial: string;
  readonly firmware: string;
  readonly hardware: string;
  readonly grid: GridModel;
  readonly battery: BatteryStart;
  readonly storeLimit: number;
  readonly clockDriftPartsPerMillion: number;
  readonly faults: readonly Fault[];
  readonly radio: RadioSurroundings;
  /** false: it has no part to measure humidity with. */
  readonly humidity?: boolean;
}
