import { type HealthDay, healthDayVersion } from "../domain/condition/health-day.ts";
import { ArrayReader, arrayBytes } from "./array-bytes.ts";
import { type GridDayText, gridArrays, gridOf, gridText } from "./health-grid-bytes.ts";
import { readReliefs, reliefArrays } from "./health-relief-bytes.ts";

/** Changes with the way a day is kept as well as with the way it is told: days of another one are worked out anew. */
const keptAs = 1;
export const keptVersion = 100 * keptAs + healthDayVersion;

/** What of a day is few and of many kinds, as JSON; everything of which there is a row of the same lies beside it. */
interface DayText extends Omit<HealthDay, "grid" | "reliefs" | "link"> {
  readonly grid: GridDayText | null;
  readonly link: Omit<HealthDay["link"], "signals" | "delays">;
}

/** One closed day as it is kept: text, link, reliefs, grid. */
export function dayBytes({ grid, reliefs, link, ...rest }: HealthDay): Buffer {
  const { signals, delays, ...counts } = link;
  const text: DayText = { ...rest, link: counts, grid: grid && gridText(grid) };
  return arrayBytes([
    Buffer.from(JSON.stringify(text)),
    signals,
    delays,
    ...reliefArrays(reliefs),
    ...(grid === null ? [] : gridArrays(grid)),
  ]);
}

/** @returns the same to the last digit; its arrays are views of `bytes` */
export function dayOf(bytes: Uint8Array): HealthDay {
  const read = new ArrayReader(bytes);
  const text: DayText = JSON.parse(Buffer.from(read.uint8()).toString());
  return {
    ...text,
    link: { ...text.link, signals: read.uint16(), delays: read.uint16() },
    reliefs: readReliefs(read),
    grid: text.grid && gridOf(text.grid, read),
  };
}
