import { comesLater } from "./envelope.ts";
import { count, type Field, type IntegerField } from "./field.ts";
import type { FieldReader } from "./field-reader.ts";
import { type FieldWriter, refuseToWrite } from "./field-writer.ts";
import type { Envelope, Frame } from "./messages.ts";

const taken = count(16, "takenUptimeSeconds", "FP-5.19");
const loaded: Field = { key: 17, name: "loaded", clause: "FP-5.20" };
const rows: IntegerField = { key: 18, name: "rows", clause: "FP-5.20", low: 2, high: 64 };
const columns: IntegerField = { key: 19, name: "columns", clause: "FP-5.20", low: 2, high: 64 };
const temperature: IntegerField = {
  key: 20,
  name: "temperatureDecicelsius",
  clause: "FP-5.21",
  low: -400,
  high: 1250,
};
const cells: Field = { key: 21, name: "cells", clause: "FP-5.22" };

export function readFrame(envelope: Envelope, fields: FieldReader): Frame {
  const frame: Frame = {
    kind: "frame",
    ...envelope,
    takenUptimeSeconds: fields.integer(taken),
    loaded: fields.flag(loaded),
    rows: fields.integer(rows),
    columns: fields.integer(columns),
    temperatureDecicelsius: fields.integer(temperature),
    cells: fields.bytes(cells),
  };
  for (const { field, what } of problems(frame)) fields.refuse(field.clause, field.name, what);
  return frame;
}

export function writeFrame(out: FieldWriter, frame: Frame): void {
  out.integer(taken, frame.takenUptimeSeconds);
  out.item(loaded, frame.loaded);
  out.integer(rows, frame.rows);
  out.integer(columns, frame.columns);
  out.integer(temperature, frame.temperatureDecicelsius);
  out.item(cells, frame.cells);
  for (const { field, what } of problems(frame)) refuseToWrite(field, what);
}

/** What no single field shows. */
function problems(frame: Frame): { field: Field; what: string }[] {
  const found: { field: Field; what: string }[] = [];
  const later = comesLater(frame.takenUptimeSeconds, frame);
  if (later !== null) found.push({ field: taken, what: later });
  if (frame.cells.length !== frame.rows * frame.columns)
    found.push({
      field: cells,
      what: `${frame.cells.length} bytes for ${frame.rows} x ${frame.columns} cells`,
    });
  return found;
}
