/** Branded quantities: a number that says what it measures can't be passed for another.
 *  `Instant` is milliseconds since 1970-01-01T00:00Z; everything else carries its unit in its name. */
declare const brand: unique symbol;
type Branded<Base, Name extends string> = Base & { readonly [brand]: Name };

export type Instant = Branded<number, "Instant">;
export type Milliseconds = Branded<number, "Milliseconds">;
export type Seconds = Branded<number, "Seconds">;
export type Minutes = Branded<number, "Minutes">;
export type Hours = Branded<number, "Hours">;
export type Millivolts = Branded<number, "Millivolts">;
export type Milliamperes = Branded<number, "Milliamperes">;
export type MilliampHours = Branded<number, "MilliampHours">;
export type Celsius = Branded<number, "Celsius">;
export type Kilograms = Branded<number, "Kilograms">;
export type Millimetres = Branded<number, "Millimetres">;
/** Received signal strength at the relay, dBm, negative. */
export type DecibelMilliwatts = Branded<number, "DecibelMilliwatts">;
/** 0 to 100, or above where what it is a share of can be exceeded. */
export type Percent = Branded<number, "Percent">;
/** 0 to 1. */
export type Probability = Branded<number, "Probability">;

export const instant = (millisecondsSinceEpoch: number): Instant => millisecondsSinceEpoch as Instant;
export const milliseconds = (value: number): Milliseconds => value as Milliseconds;
export const seconds = (value: number): Seconds => value as Seconds;
export const minutes = (value: number): Minutes => value as Minutes;
export const hours = (value: number): Hours => value as Hours;
export const millivolts = (value: number): Millivolts => value as Millivolts;
export const milliamperes = (value: number): Milliamperes => value as Milliamperes;
export const milliampHours = (value: number): MilliampHours => value as MilliampHours;
export const celsius = (value: number): Celsius => value as Celsius;
export const kilograms = (value: number): Kilograms => value as Kilograms;
export const millimetres = (value: number): Millimetres => value as Millimetres;
export const decibelMilliwatts = (value: number): DecibelMilliwatts => value as DecibelMilliwatts;
export const percent = (value: number): Percent => value as Percent;
export const probability = (value: number): Probability => value as Probability;

export const millisecondsIn = {
  second: 1_000,
  minute: 60_000,
  hour: 3_600_000,
} as const;

export const after = (start: Instant, wait: Milliseconds): Instant => instant(start + wait);
export const between = (start: Instant, end: Instant): Milliseconds => milliseconds(end - start);

/** A stretch of time, start included, end excluded. */
export interface Span {
  readonly start: Instant;
  readonly end: Instant;
}

/** An estimate that carries its own doubt: `low` to `high` at `level` (0.9 = 90 %). */
export interface Interval {
  readonly low: number;
  readonly best: number;
  readonly high: number;
  readonly level: number;
}
