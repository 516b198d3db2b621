import { comesLater } from "./envelope.ts";
import { type ChoiceField, count, type Field, type IntegerField } from "./field.ts";
import type { FieldReader } from "./field-reader.ts";
import { type FieldWriter, refuseToWrite } from "./field-writer.ts";
import { type Envelope, type Relay, type RelayLink, relayLinks } from "./messages.ts";

const identity: Field = { key: 16, name: "relay", clause: "FP-5.38" };
const heard = count(17, "heardUptimeSeconds", "FP-5.39");
const ownUptime = count(18, "relayUptimeSeconds", "FP-5.40");
const link: ChoiceField<RelayLink> = { key: 19, name: "link", clause: "FP-5.41", values: relayLinks };
const signal: IntegerField = {
  key: 20,
  name: "signalDecibelMilliwatts",
  clause: "FP-5.42",
  low: -140,
  high: 0,
};

export function readRelay(envelope: Envelope, fields: FieldReader): Relay {
  const relay: Relay = {
    kind: "relay",
    ...envelope,
    relay: fields.label(identity),
    heardUptimeSeconds: fields.integer(heard),
    relayUptimeSeconds: fields.integerOrNull(ownUptime),
    link: fields.choice(link, "not-told"),
    signalDecibelMilliwatts: fields.integer(signal),
  };
  const later = comesLater(relay.heardUptimeSeconds, envelope);
  if (later !== null) fields.refuse(heard.clause, heard.name, later);
  return relay;
}

export function writeRelay(out: FieldWriter, relay: Relay): void {
  out.label(identity, relay.relay);
  out.integer(heard, relay.heardUptimeSeconds);
  const later = comesLater(relay.heardUptimeSeconds, relay);
  if (later !== null) refuseToWrite(heard, later);
  out.integerOrNull(ownUptime, relay.relayUptimeSeconds);
  out.choice(link, relay.link);
  out.integer(signal, relay.signalDecibelMilliwatts);
}
