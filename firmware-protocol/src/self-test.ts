import { comesLater } from "./envelope.ts";
import { count, type Field, type IntegerField } from "./field.ts";
import type { FieldReader } from "./field-reader.ts";
import { checkedInteger, type FieldWriter, refuseToWrite } from "./field-writer.ts";
import { maximumFailedCellsListed } from "./limits.ts";
import type { Envelope, SelfTest } from "./messages.ts";

const at = count(16, "atUptimeSeconds", "FP-5.43");
const passed: Field = { key: 17, name: "passed", clause: "FP-5.47" };
const rows: IntegerField = { key: 18, name: "rows", clause: "FP-5.44", low: 2, high: 64 };
const columns: IntegerField = { key: 19, name: "columns", clause: "FP-5.44", low: 2, high: 64 };
const tested: IntegerField = { key: 20, name: "cellsTested", clause: "FP-5.44", low: 0, high: 4096 };
const failed: IntegerField = { key: 21, name: "cellsFailed", clause: "FP-5.45", low: 0, high: 4096 };
const cells: IntegerField = { key: 22, name: "failedCells", clause: "FP-5.45", low: 0, high: 4095 };
const failedRows: IntegerField = { key: 23, name: "failedRows", clause: "FP-5.46", low: 0, high: 63 };
const failedColumns: IntegerField = { key: 24, name: "failedColumns", clause: "FP-5.46", low: 0, high: 63 };
const command: Field = { key: 25, name: "command", clause: "FP-5.48" };

export function readSelfTest(envelope: Envelope, fields: FieldReader): SelfTest {
  const test: SelfTest = {
    kind: "self-test",
    ...envelope,
    atUptimeSeconds: fields.integer(at),
    passed: fields.flag(passed),
    rows: fields.integer(rows),
    columns: fields.integer(columns),
    cellsTested: fields.integer(tested),
    cellsFailed: fields.integer(failed),
    failedCells: fields.list(cells).map((item) => fields.integerItem(cells, item)),
    failedRows: fields.list(failedRows).map((item) => fields.integerItem(failedRows, item)),
    failedColumns: fields.list(failedColumns).map((item) => fields.integerItem(failedColumns, item)),
    ...(fields.has(command) && { command: fields.label(command) }),
  };
  for (const { field, what } of problems(test)) fields.refuse(field.clause, field.name, what);
  return test;
}

export function writeSelfTest(out: FieldWriter, test: SelfTest): void {
  for (const { field, what } of problems(test)) refuseToWrite(field, what);
  out.integer(at, test.atUptimeSeconds);
  out.item(passed, test.passed);
  out.integer(rows, test.rows);
  out.integer(columns, test.columns);
  out.integer(tested, test.cellsTested);
  out.integer(failed, test.cellsFailed);
  out.item(cells, places(cells, test.failedCells));
  out.item(failedRows, places(failedRows, test.failedRows));
  out.item(failedColumns, places(failedColumns, test.failedColumns));
  out.optionalLabel(command, test.command);
}

const places = (field: IntegerField, values: readonly number[]): number[] =>
  values.map((value) => checkedInteger(field, value));

/** What no single field shows. */
function problems(test: SelfTest): { field: Field; what: string }[] {
  const found: { field: Field; what: string }[] = [];
  const later = comesLater(test.atUptimeSeconds, test);
  if (later !== null) found.push({ field: at, what: later });
  const size = test.rows * test.columns;
  if (test.cellsTested > size) found.push({ field: tested, what: `more than the ${size} cells of the grid` });
  if (test.cellsFailed > test.cellsTested) found.push({ field: failed, what: "more than were tested" });
  if (test.failedCells.length !== Math.min(test.cellsFailed, maximumFailedCellsListed))
    found.push({ field: cells, what: `${test.failedCells.length} listed of ${test.cellsFailed}` });
  if (!ascendsBelow(size, test.failedCells)) found.push({ field: cells, what: outOfPlace });
  if (!ascendsBelow(test.rows, test.failedRows)) found.push({ field: failedRows, what: outOfPlace });
  if (!ascendsBelow(test.columns, test.failedColumns)) found.push({ field: failedColumns, what: outOfPlace });
  const faults = test.cellsFailed + test.failedRows.length + test.failedColumns.length;
  if (test.passed && faults > 0) found.push({ field: passed, what: "true, though something failed" });
  return found;
}

const outOfPlace = "not ascending within the grid";

const ascendsBelow = (end: number, values: readonly number[]): boolean =>
  values.every((value, place) => value < end && (place === 0 || value > (values[place - 1] ?? 0)));
