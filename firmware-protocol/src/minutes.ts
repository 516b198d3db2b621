import { comesLater } from "./envelope.ts";
import { count, type Field } from "./field.ts";
import type { FieldReader } from "./field-reader.ts";
import { type FieldWriter, refuseToWrite } from "./field-writer.ts";
import { maximumMinutesPerMessage } from "./limits.ts";
import type { Envelope, MinuteRecord, Minutes } from "./messages.ts";
import {
  columnField,
  columnFields,
  humidityField,
  readColumn,
  signalField,
  writeColumn,
} from "./minute-columns.ts";
import { flagsOf, flagsProblem, isLoaded, isRelayReachable, powerOf } from "./minute-flags.ts";

const first = count(16, "firstUptimeSeconds", "FP-5.6");
const flags: Field = { key: 17, name: "flags", clause: "FP-5.7" };

export function readMinutes(envelope: Envelope, fields: FieldReader): Minutes {
  const firstUptimeSeconds = fields.integer(first);
  const states = fields.bytes(flags);
  const wrong = countProblem(states.length) ?? flagsProblem(states);
  if (wrong !== null) fields.refuse(flags.clause, flags.name, wrong);
  const later = lastLater(firstUptimeSeconds, states.length, envelope);
  if (later !== null) fields.refuse(first.clause, first.name, later);
  return { kind: "minutes", ...envelope, firstUptimeSeconds, minutes: readRecords(fields, states) };
}

type Writable<Of> = { -readonly [Key in keyof Of]: Of[Key] };

function readRecords(fields: FieldReader, states: Uint8Array): MinuteRecord[] {
  const load = readColumn(fields, columnFields.loadHectograms, states.length);
  const right = readColumn(fields, columnFields.centreRightPercent, states.length);
  const front = readColumn(fields, columnFields.centreFrontPercent, states.length);
  const cell = readColumn(fields, columnFields.cellMillivolts, states.length);
  const temperature = readColumn(fields, columnFields.temperatureDecicelsius, states.length);
  let reached = 0;
  for (const state of states) if (isRelayReachable(state)) reached += 1;
  const signal = readColumn(fields, signalField, reached);
  const humidity = fields.has(humidityField) ? readColumn(fields, humidityField, states.length) : null;
  let heard = 0;
  const minutes: MinuteRecord[] = [];
  for (let minute = 0; minute < states.length; minute++) {
    const state = states[minute] ?? 0;
    const record: Writable<MinuteRecord> = {
      loaded: isLoaded(state),
      power: powerOf(state),
      loadHectograms: load[minute] ?? 0,
      centreRightPercent: right[minute] ?? 0,
      centreFrontPercent: front[minute] ?? 0,
      cellMillivolts: cell[minute] ?? 0,
      temperatureDecicelsius: temperature[minute] ?? 0,
      signalDecibelMilliwatts: isRelayReachable(state) ? (signal[heard++] ?? 0) : null,
    };
    // Set and not spread into a copy: an engine keeps a copy with a field more as a slow dictionary.
    if (humidity !== null) record.humidityPercent = humidity[minute] ?? 0;
    minutes.push(record);
  }
  return minutes;
}

export function writeMinutes(out: FieldWriter, message: Minutes): void {
  const { minutes, firstUptimeSeconds } = message;
  const wrong = countProblem(minutes.length);
  if (wrong !== null) refuseToWrite({ ...flags, name: "minutes" }, wrong);
  out.integer(first, firstUptimeSeconds);
  const later = lastLater(firstUptimeSeconds, minutes.length, message);
  if (later !== null) refuseToWrite(first, later);
  out.item(flags, Uint8Array.from(minutes, flagsOf));
  for (const name of columnField)
    out.item(
      columnFields[name],
      writeColumn(
        columnFields[name],
        minutes.map((minute) => minute[name]),
      ),
    );
  const heard = minutes.flatMap(({ signalDecibelMilliwatts: signal }) => (signal === null ? [] : [signal]));
  out.item(signalField, writeColumn(signalField, heard));
  const humidity = minutes.flatMap(({ humidityPercent }) => humidityPercent ?? []);
  if (humidity.length === 0) return;
  if (humidity.length !== minutes.length) refuseToWrite(humidityField, "given for some minutes only");
  out.item(humidityField, writeColumn(humidityField, humidity));
}

const countProblem = (minutes: number): string | null =>
  minutes < 1 || minutes > maximumMinutesPerMessage
    ? `${minutes} minutes, where 1 to ${maximumMinutesPerMessage} may stand`
    : null;

/** A minute may be reported while it still runs, never before it began. */
const lastLater = (firstUptimeSeconds: number, minutes: number, envelope: Envelope): string | null =>
  comesLater(firstUptimeSeconds + 60 * (minutes - 1), envelope);
