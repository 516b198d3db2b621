import { writeCertificate } from "./certificate.ts";
import { writeCommand } from "./command.ts";
import type { DownlinkMessage } from "./downlink.ts";
import { writeEnvelope, writeHeader } from "./envelope.ts";
import { writeFault } from "./fault.ts";
import { FieldWriter } from "./field-writer.ts";
import { writeFrame } from "./frame.ts";
import { writeHello } from "./hello.ts";
import { maximumDownlinkBytes, maximumUplinkBytes } from "./limits.ts";
import type { UplinkMessage } from "./messages.ts";
import { writeMinutes } from "./minutes.ts";
import { writeNotice } from "./notice.ts";
import { writePlan } from "./plan.ts";
import { writePower } from "./power.ts";
import { writePrompt } from "./prompt.ts";
import { writeReceipt } from "./receipt.ts";
import { writeRelay } from "./relay.ts";
import { writeRelief } from "./relief.ts";
import { writeRenewal } from "./renewal.ts";
import { writeResult } from "./result.ts";
import { writeSelfTest } from "./self-test.ts";

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
    case "power":
      writePower(out, message);
      break;
    case "relay":
      writeRelay(out, message);
      break;
    case "self-test":
      writeSelfTest(out, message);
      break;
    case "prompt":
      writePrompt(out, message);
      break;
    case "notice":
      writeNotice(out, message);
      break;
    case "result":
      writeResult(out, message);
      break;
    case "renewal":
      writeRenewal(out, message);
      break;
  }
}

/** The one encoding of a message to a unit.
 *  @throws RangeError naming the field that breaks SPEC.md */
export function encodeDownlink(message: DownlinkMessage): Uint8Array {
  const out = new FieldWriter();
  writeHeader(out, message.kind);
  writeDownlinkBody(out, message);
  return out.finish(maximumDownlinkBytes);
}

function writeDownlinkBody(out: FieldWriter, message: DownlinkMessage): void {
  switch (message.kind) {
    case "receipt":
      writeReceipt(out, message);
      break;
    case "plan":
      writePlan(out, message);
      break;
    case "command":
      writeCommand(out, message);
      break;
    case "certificate":
      writeCertificate(out, message);
      break;
  }
}
