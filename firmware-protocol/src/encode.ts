import { writeEnvelope, writeHeader } from "./envelope.ts";
import { writeFault } from "./fault.ts";
import { FieldWriter } from "./field-writer.ts";
import { writeFrame } from "./frame.ts";
import { writeHello } from "./hello.ts";
import { maximumDownlinkBytes, maximumUplinkBytes } from "./limits.ts";
import type { DownlinkMessage, UplinkMessage } from "./messages.ts";
import { writeMinutes } from "./minutes.ts";
import { writePlan } from "./plan.ts";
import { writeReceipt } from "./receipt.ts";
import { writeRelief } from "./relief.ts";

/** The one encoding of a message from a unit.
 *  @throws RangeError naming the field that breaks SPEC.md, or where the whole is too long for one message */
export function encodeUplink(message: UplinkMessage): Uint8Array {
  const out = new FieldWriter();
  writeHeader(out, message.kind);
  writeEnvelope(out, message);
  writeUplinkBody(out, message);
  return out.finish(maximumUplinkBytes);
}

function writeUplinkBody(out: FieldWriter, message: UplinkMessage): void {
  switch (message.kind) {
    case "hello":
      writeHello(out, message);
      break;
    case "minutes":
      writeMinutes(out, message);
      break;
    case "relief":
      writeRelief(out, message);
      break;
    case "frame":
      writeFrame(out, message);
      break;
    case "fault":
      writeFault(out, message);
      break;
  }
}

/** The one encoding of a message to a unit.
 *  @throws RangeError naming the field that breaks SPEC.md */
export function encodeDownlink(message: DownlinkMessage): Uint8Array {
  const out = new FieldWriter();
  writeHeader(out, message.kind);
  if (message.kind === "receipt") writeReceipt(out, message);
  else writePlan(out, message);
  return out.finish(maximumDownlinkBytes);
}
