import type { Fault, Frame, Hello, Relief } from "../../firmware-protocol/src/messages.ts";
import type {
  RecordedBoot,
  RecordedFault,
  RecordedFrame,
  RecordedRelief,
} from "../domain/record/unit-record.ts";
import { celsius, type Instant, instant, percent, probability, seconds } from "../domain/units.ts";
import type { Writable } from "./telemetry-minute-columns.ts";

export interface When {
  readonly at: Instant;
  readonly receivedAt: Instant;
}

/** What only some units say is set, and not spread into it: a copy so made is slow to read. */
export function reliefFrom({ at, receivedAt }: When, message: Relief): RecordedRelief {
  const relief: Writable<RecordedRelief> = {
    at,
    receivedAt,
    kind: message.relief,
    hold: seconds(message.holdSeconds),
    depth: probability(message.depthPercent / 100),
    outcome: message.complete ? "complete" : "broken-off",
    prompted: message.prompted,
  };
  if (message.brokenOff !== undefined) relief.brokenOff = message.brokenOff;
  if (message.sideLoadPercent !== undefined)
    relief.sideLoad = {
      left: percent(message.sideLoadPercent.left),
      right: percent(message.sideLoadPercent.right),
    };
  return relief;
}

export const frameFrom = ({ at, receivedAt }: When, frame: Frame): RecordedFrame => ({
  at,
  receivedAt,
  seat: frame.loaded ? "loaded" : "empty",
  rows: frame.rows,
  columns: frame.columns,
  cells: frame.cells,
  temperature: celsius(frame.temperatureDecicelsius / 10),
});

/** A boot by one of its hellos: `at` is when it began, not when that hello was written. */
export const bootFrom = ({ at, receivedAt }: When, hello: Hello): RecordedBoot => ({
  at: instant(at - hello.uptimeSeconds * 1_000),
  receivedAt,
  boot: hello.boot,
  reset: hello.reset,
  firmware: hello.firmware,
  hardware: hello.hardware,
  clockSet: hello.wallSeconds !== null,
  rows: hello.rows,
  columns: hello.columns,
  queued: hello.queued,
});

export const faultFrom = ({ at, receivedAt }: When, fault: Fault): RecordedFault => ({
  at,
  receivedAt,
  code: fault.fault,
  detail: faultDetail(fault),
  ...(fault.value === null ? {} : { value: fault.value }),
});

/** What the fault's number says, in words; empty where the code has none. */
function faultDetail({ fault, lost, value }: Fault): string {
  switch (fault) {
    case "store-overrun":
      return lost === null
        ? ""
        : `lost messages ${lost.fromSequence} to ${lost.toSequence} of boot ${lost.boot}`;
    case "battery-cut-off":
      return value === null ? "" : `at ${value} mV`;
    case "charge-too-hot":
    case "charge-too-cold":
    case "cell-hot":
      return value === null ? "" : `at ${(value / 10).toFixed(1)} °C`;
    case "grid-self-test":
    case "clock-lost":
    case "wet":
      return value === null ? "" : `value ${value}`;
  }
}
