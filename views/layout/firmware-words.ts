import type { FirmwareMeasure } from "../../server/domain/firmware/around-firmware.ts";
import type { FirmwareStep } from "../../server/domain/firmware/firmware-steps.ts";

interface MeasureWords {
  readonly name: string;
  readonly unit: string;
  readonly decimals: number;
  readonly scale: number;
}

const ofMeasure: Readonly<Record<FirmwareMeasure, MeasureWords>> = {
  "minutes-lost": { name: "Record lost for good", unit: "%", decimals: 2, scale: 100 },
  "without-relay": { name: "Time without a relay", unit: "%", decimals: 1, scale: 100 },
  restarts: { name: "Restarts unasked", unit: "in 24 h", decimals: 2, scale: 1 },
  "hours-per-charge": { name: "What a charge lasts", unit: "h", decimals: 0, scale: 1 },
  "empty-reading": { name: "Empty reading", unit: "% of span", decimals: 2, scale: 100 },
  "reliefs-counted": { name: "Full reliefs counted", unit: "a seated hour", decimals: 2, scale: 1 },
};

export const measureName = (measure: FirmwareMeasure): string => ofMeasure[measure].name;

export function levelWords(measure: FirmwareMeasure, value: number | null): string {
  const { unit, decimals, scale } = ofMeasure[measure];
  return value === null ? "–" : `${(scale * value).toFixed(decimals)} ${unit}`;
}

export function stepWords({ measure, step }: FirmwareStep): string {
  if (step === null) return "–";
  const { unit, decimals, scale } = ofMeasure[measure];
  const signed = (value: number): string => {
    const size = Math.abs(scale * value).toFixed(decimals);
    if (Number(size) === 0) return size;
    return `${value > 0 ? "+" : "−"}${size}`;
  };
  return `${signed(step.low)} to ${signed(step.high)} ${unit}`;
}

export const verdictWords: Readonly<Record<FirmwareStep["verdict"], string>> = {
  moved: "Moved",
  "no-step-seen": "No step seen",
  "too-few-units": "Too few units to tell",
};
