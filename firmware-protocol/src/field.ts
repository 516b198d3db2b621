import { largestCount } from "./limits.ts";

/** One entry of a message's map: its key, its name in the typed message, and the clause that rules it. */
export interface Field {
  readonly key: number;
  readonly name: string;
  readonly clause: string;
}

export interface IntegerField extends Field {
  readonly low: number;
  readonly high: number;
}

/** A value out of a fixed list, sent as its place in the list. */
export interface ChoiceField<T extends string> extends Field {
  readonly values: readonly T[];
}

export const count = (key: number, name: string, clause: string): IntegerField => ({
  key,
  name,
  clause,
  low: 0,
  high: largestCount,
});

export const rangeProblem = (field: IntegerField, value: number): string =>
  `${value} is not a whole number from ${field.low} to ${field.high}`;

export const isInRange = (field: IntegerField, value: number): boolean =>
  Number.isInteger(value) && value >= field.low && value <= field.high;

/** Names of parts and versions: 1 to 32 printable ASCII characters, so that any display can show them. */
const labelPattern = /^[\x20-\x7e]{1,32}$/;
export const isLabel = (text: string): boolean => labelPattern.test(text);
export const labelProblem = "not 1 to 32 printable ASCII characters";
