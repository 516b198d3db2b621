import type { CborItem } from "./cbor/item.ts";
import { writeCbor } from "./cbor/write.ts";
import {
  type ChoiceField,
  type Field,
  type IntegerField,
  isInRange,
  isLabel,
  labelProblem,
  rangeProblem,
} from "./field.ts";

/** Collects the entries of one message and holds each to its range.
 *  Every method throws a RangeError that names the field: a message of our own that breaks the protocol is a bug. */
export class FieldWriter {
  readonly #map = new Map<CborItem, CborItem>();

  item(field: Field, item: CborItem): void {
    this.#map.set(field.key, item);
  }

  integer(field: IntegerField, value: number): void {
    this.item(field, checkedInteger(field, value));
  }

  integerOrNull(field: IntegerField, value: number | null): void {
    this.item(field, value === null ? null : checkedInteger(field, value));
  }

  label(field: Field, text: string): void {
    if (!isLabel(text)) refuseToWrite(field, labelProblem);
    this.item(field, text);
  }

  choice<T extends string>(field: ChoiceField<T>, value: T): void {
    this.item(field, choiceNumber(field, value));
  }

  choiceOrNull<T extends string>(field: ChoiceField<T>, value: T | null): void {
    this.item(field, value === null ? null : choiceNumber(field, value));
  }

  /** Writes nothing where there is nothing to tell: an optional entry is left out, not null. */
  optionalInteger(field: IntegerField, value: number | undefined): void {
    if (value !== undefined) this.integer(field, value);
  }

  optionalLabel(field: Field, text: string | undefined): void {
    if (text !== undefined) this.label(field, text);
  }

  optionalChoice<T extends string>(field: ChoiceField<T>, value: T | undefined): void {
    if (value !== undefined) this.choice(field, value);
  }

  finish(maximumBytes: number): Uint8Array {
    const bytes = writeCbor(this.#map);
    if (bytes.length > maximumBytes)
      throw new RangeError(`message: ${bytes.length} bytes, more than the ${maximumBytes} allowed`);
    return bytes;
  }
}

export function checkedInteger(field: IntegerField, value: number): number {
  if (!isInRange(field, value)) refuseToWrite(field, rangeProblem(field, value));
  return value;
}

export function choiceNumber<T extends string>(field: ChoiceField<T>, value: T): number {
  const number = field.values.indexOf(value);
  if (number < 0) refuseToWrite(field, `${value} is not one of ${field.values.join(", ")}`);
  return number;
}

export function refuseToWrite(field: Field, what: string): never {
  throw new RangeError(`${field.name}: ${what}`);
}
