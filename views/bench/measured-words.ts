import type { LineDecision } from "../../server/domain/bench/reading.ts";

const shares = new Set(["of full load", "of the load", "of its mean", "of the half seat", "for each °C"]);

/** A number with as many digits as its size deserves; shares are said in per cent. */
export function amountWords(value: number, unit: string): string {
  const percent = shares.has(unit);
  const shown = percent ? value * 100 : value;
  const digits = Number.isInteger(shown) ? 0 : Math.abs(shown) >= 100 ? 0 : Math.abs(shown) >= 10 ? 1 : 2;
  const text = shown.toFixed(digits).replace("-", "−");
  return percent ? `${text} %` : text;
}

export function limitWords(low: number | null, high: number | null, unit: string): string {
  if (low !== null && high !== null) {
    if (low === high) return amountWords(low, unit);
    if (low === -high) return `± ${amountWords(high, unit)}`;
    return `${amountWords(low, unit)} to ${amountWords(high, unit)}`;
  }
  if (low !== null) return `at least ${amountWords(low, unit)}`;
  return high === null ? "" : `at most ${amountWords(high, unit)}`;
}

export const decisionWords: Readonly<Record<LineDecision | "masked", string>> = {
  pass: "✓ pass",
  fail: "⚠ out",
  "not-settled": "○ not settled",
  masked: "▨ masked",
};
