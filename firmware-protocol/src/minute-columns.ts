import type { IntegerField } from "./field.ts";
import { isInRange, rangeProblem } from "./field.ts";
import type { FieldReader } from "./field-reader.ts";
import { checkedInteger } from "./field-writer.ts";

/** [FP-5.8] Columns of a run of minutes: the first entry is the value, each later one the difference from the one
 *  before, because a seat changes little from minute to minute and small integers are one byte. */
export const columnFields = {
  loadHectograms: { key: 18, name: "loadHectograms", clause: "FP-5.9", low: 0, high: 5000 },
  centreRightPercent: { key: 19, name: "centreRightPercent", clause: "FP-5.10", low: -100, high: 100 },
  centreFrontPercent: { key: 20, name: "centreFrontPercent", clause: "FP-5.10", low: -100, high: 100 },
  cellMillivolts: { key: 21, name: "cellMillivolts", clause: "FP-5.11", low: 0, high: 6000 },
  temperatureDecicelsius: {
    key: 22,
    name: "temperatureDecicelsius",
    clause: "FP-5.12",
    low: -400,
    high: 1250,
  },
} as const satisfies Record<string, IntegerField>;

export const columnField = [
  "loadHectograms",
  "centreRightPercent",
  "centreFrontPercent",
  "cellMillivolts",
  "temperatureDecicelsius",
] as const;

/** Holds an entry only for a minute in which the relay was reachable. */
export const signalField: IntegerField = {
  key: 23,
  name: "signalDecibelMilliwatts",
  clause: "FP-5.13",
  low: -140,
  high: 0,
};

/** [FP-5.65] Left out by a unit without the sensor. */
export const humidityField: IntegerField = {
  key: 24,
  name: "humidityPercent",
  clause: "FP-5.65",
  low: 0,
  high: 100,
};

const columnLength = "FP-5.8";

export function readColumn(fields: FieldReader, field: IntegerField, length: number): readonly number[] {
  const items = fields.list(field);
  if (items.length !== length)
    fields.refuse(columnLength, field.name, `${items.length} entries where the flags ask for ${length}`);
  const values: number[] = [];
  if (items.length === 0) return values;
  const { key, name, clause, low, high } = field;
  const step: IntegerField = { key, name, clause, low: low - high, high: high - low };
  let value = 0;
  for (let minute = 0; minute < items.length; minute++) {
    const item = items[minute];
    if (minute === 0) value = fields.integerItem(field, item);
    else value += fields.integerItem(step, item);
    if (!isInRange(field, value)) {
      fields.refuse(field.clause, field.name, `at entry ${minute}: ${rangeProblem(field, value)}`);
      break;
    }
    values.push(value);
  }
  return values;
}

/** @throws RangeError naming the column and the first value out of its range */
export const writeColumn = (field: IntegerField, values: readonly number[]): number[] =>
  values.map((value, at) => {
    const before = at === 0 ? 0 : (values[at - 1] ?? 0);
    return checkedInteger(field, value) - before;
  });
