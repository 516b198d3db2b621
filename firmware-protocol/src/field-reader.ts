import { type CborItem, type CborMap, isCborList } from "./cbor/item.ts";
import {
  type ChoiceField,
  type Field,
  type IntegerField,
  isInRange,
  isLabel,
  labelProblem,
  rangeProblem,
} from "./field.ts";
import { firstFutureKey } from "./limits.ts";

interface FieldProblem {
  readonly clause: string;
  readonly reason: string;
}

const wrongType = "FP-3.10";
const missing = "FP-4.8";
const unknownKey = "FP-4.9";

/** Reads the entries of one message. The first problem is kept and later ones ignored, so that a message's reader can
 *  be written as one plain list of fields; what it read counts only if `takeProblem` then finds none. */
export class FieldReader {
  readonly #map: CborMap;
  /** A bit for each key below 32; the few above, by themselves. */
  #takenLow = 0;
  #takenHigh: number[] | null = null;
  #problem: FieldProblem | null = null;

  constructor(map: CborMap) {
    this.#map = map;
  }

  /** @returns the first problem since the last call, or null */
  takeProblem(): FieldProblem | null {
    const problem = this.#problem;
    this.#problem = null;
    return problem;
  }

  refuse(clause: string, name: string, what: string): void {
    this.#problem ??= { clause, reason: `${name}: ${what}` };
  }

  /** [FP-4.9] To be asked last: an entry below the future keys that no field took. */
  refuseUnknown(): void {
    for (const key of this.#map.keys())
      if (typeof key === "number" && key < firstFutureKey && !this.#isTaken(key))
        this.refuse(unknownKey, `key ${key}`, "not defined for this message");
  }

  /** Whether an optional entry stands there. */
  has(field: Field): boolean {
    return this.#map.has(field.key);
  }

  integer(field: IntegerField): number {
    return this.integerItem(field, this.#take(field));
  }

  integerOrNull(field: IntegerField): number | null {
    const item = this.#take(field);
    return item === null ? null : this.integerItem(field, item);
  }

  /** An integer that stands within a list. */
  integerItem(field: IntegerField, item: CborItem): number {
    if (typeof item === "bigint") this.refuse(field.clause, field.name, rangeProblem(field, Number(item)));
    else if (typeof item !== "number") this.#refuseType(field, "an integer");
    else if (isInRange(field, item)) return item;
    else this.refuse(field.clause, field.name, rangeProblem(field, item));
    return field.low;
  }

  text(field: Field): string {
    const item = this.#take(field);
    if (typeof item === "string") return item;
    this.#refuseType(field, "a text");
    return "";
  }

  label(field: Field): string {
    const text = this.text(field);
    if (!isLabel(text)) this.refuse(field.clause, field.name, labelProblem);
    return text;
  }

  bytes(field: Field): Uint8Array {
    return this.bytesItem(field, this.#take(field));
  }

  bytesItem(field: Field, item: CborItem): Uint8Array {
    if (item instanceof Uint8Array) return item;
    this.#refuseType(field, "a byte string");
    return new Uint8Array();
  }

  flag(field: Field): boolean {
    const item = this.#take(field);
    if (typeof item === "boolean") return item;
    this.refuse(field.clause, field.name, "not true or false");
    return false;
  }

  list(field: Field): readonly CborItem[] {
    return this.listItem(field, this.#take(field));
  }

  listOrNull(field: Field): readonly CborItem[] | null {
    const item = this.#take(field);
    return item === null ? null : this.listItem(field, item);
  }

  /** A list that stands within a list. */
  listItem(field: Field, item: CborItem): readonly CborItem[] {
    if (isCborList(item)) return item;
    this.#refuseType(field, "a list");
    return [];
  }

  choice<T extends string>(field: ChoiceField<T>, fallback: T): T {
    return this.choiceItem(field, this.#take(field), fallback);
  }

  choiceOrNull<T extends string>(field: ChoiceField<T>, fallback: T): T | null {
    const item = this.#take(field);
    return item === null ? null : this.choiceItem(field, item, fallback);
  }

  choiceItem<T extends string>(field: ChoiceField<T>, item: CborItem, fallback: T): T {
    const value = typeof item === "number" ? field.values[item] : undefined;
    if (value !== undefined) return value;
    this.integerItem({ ...field, low: 0, high: field.values.length - 1 }, item);
    return fallback;
  }

  #take(field: Field): CborItem {
    if (field.key < 32) this.#takenLow |= 1 << field.key;
    else this.#takenHigh = [...(this.#takenHigh ?? []), field.key];
    const item = this.#map.get(field.key);
    if (item === undefined && !this.#map.has(field.key)) this.refuse(missing, field.name, "missing");
    return item;
  }

  #isTaken(key: number): boolean {
    return key < 32 ? (this.#takenLow & (1 << key)) !== 0 : (this.#takenHigh?.includes(key) ?? false);
  }

  #refuseType(field: Field, wanted: string): void {
    this.refuse(wrongType, field.name, `not ${wanted}`);
  }
}
