import { count, type Field, type IntegerField } from "./field.ts";
import type { FieldReader } from "./field-reader.ts";
import { checkedInteger } from "./field-writer.ts";
import type { MessageName } from "./messages.ts";

/** An entry that names one message of the unit: a list of boot and sequence. */
interface MessageNameField {
  readonly whole: Field;
  readonly boot: IntegerField;
  readonly sequence: IntegerField;
}

export const messageNameField = (key: number, name: string, clause: string): MessageNameField => ({
  whole: { key, name, clause },
  boot: count(key, `${name}.boot`, clause),
  sequence: count(key, `${name}.sequence`, clause),
});

export function readMessageName(
  fields: FieldReader,
  { whole, boot, sequence }: MessageNameField,
): MessageName {
  const parts = fields.list(whole);
  if (parts.length !== 2) fields.refuse(whole.clause, whole.name, "not boot and sequence");
  return { boot: fields.integerItem(boot, parts[0]), sequence: fields.integerItem(sequence, parts[1]) };
}

export const messageNameItem = (field: MessageNameField, name: MessageName): readonly number[] => [
  checkedInteger(field.boot, name.boot),
  checkedInteger(field.sequence, name.sequence),
];
