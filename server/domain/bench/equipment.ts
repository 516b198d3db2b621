import type { LocalDay } from "../time/local-day.ts";

export const equipmentKinds = ["plate", "weight"] as const;
export type EquipmentKind = (typeof equipmentKinds)[number];

export const equipmentWords: Readonly<Record<EquipmentKind, string>> = {
  plate: "loading rig with plate",
  weight: "known weight",
};

/** The newest calibration of a rig or weight. Loads in kg. */
export interface Calibration {
  readonly certificateReference: string;
  readonly calibratedOn: LocalDay;
  /** Last day on which it may be used. */
  readonly dueOn: LocalDay;
  /** Of a weight, its mass; of a rig, the greatest load it is calibrated for. */
  readonly kilograms: number;
  readonly expandedUncertainty: number;
  readonly coverageFactor: number;
  readonly resolution: number;
}

export type Fitness =
  | { readonly kind: "in-date" }
  | { readonly kind: "not-calibrated" }
  | { readonly kind: "expired"; readonly dueOn: LocalDay }
  | { readonly kind: "not-yet"; readonly calibratedOn: LocalDay };

/** ISO days compare as text. The due day itself is still good. */
export function fitnessOn(calibration: Calibration | null, today: LocalDay): Fitness {
  if (calibration === null) return { kind: "not-calibrated" };
  if (today > calibration.dueOn) return { kind: "expired", dueOn: calibration.dueOn };
  if (today < calibration.calibratedOn) return { kind: "not-yet", calibratedOn: calibration.calibratedOn };
  return { kind: "in-date" };
}
