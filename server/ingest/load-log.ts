import { decodeUplink } from "../../firmware-protocol/src/decode.ts";
import { type LogFault, type LogRecord, readLogFile } from "../../firmware-protocol/src/log-file.ts";
import { topicRoot, uplinkTopic } from "../../firmware-protocol/src/topics.ts";
import { type UnitSerial, unitSerial } from "../domain/ids.ts";
import type { Services } from "../services.ts";
import { type Actor, appendAudit } from "../store/audit.ts";
import type { IncomingMessage } from "../store/telemetry-port.ts";
import { unitBySerial } from "../store/units.ts";
import { acceptMessage } from "./accept-message.ts";
import { takeAnswers } from "./answers.ts";

export interface LogLoaded {
  readonly kind: "loaded";
  readonly unit: UnitSerial;
  readonly stored: number;
  readonly alreadyHad: number;
  readonly keptAside: number;
  /** Records that could not be read, each by its number and the byte at which it begins. */
  readonly faults: readonly LogFault[];
}

export type LogRefused = {
  readonly kind: "refused";
  readonly rule: "not-a-log" | "another-unit" | "unknown-unit";
  readonly sentence: string;
};

export interface LoadOptions {
  readonly actor: Actor;
  /** The unit it is loaded for; null: whichever it names, if that is one of ours. */
  readonly unit: UnitSerial | null;
  /** After each commit, so that what is new is reviewed. */
  readonly onCommitted?: (units: readonly UnitSerial[]) => void;
}

const batchSize = 256;
/** Of a number that isn't known yet: kept aside, as over a connection (FP-13.3). */
const unknownKind = "unknown";

/** Loads what was read off a unit over a cable, through the same checks and into the same store as live data. Loading it
 *  again, or what came over the air as well, changes nothing. */
export async function loadLog(
  services: Services,
  file: Uint8Array,
  { actor, unit, onCommitted = () => {} }: LoadOptions,
): Promise<LogLoaded | LogRefused> {
  const log = readLogFile(file);
  if (log.kind === "not-a-log")
    return { kind: "refused", rule: "not-a-log", sentence: `This is no log of a unit: ${log.reason}.` };
  const known = unitBySerial(services.db, unitSerial(log.unit));
  if (unit !== null && log.unit !== unit)
    return {
      kind: "refused",
      rule: "another-unit",
      sentence: `This log is of ${log.unit}, not of ${unit}. Nothing of it was loaded.`,
    };
  if (known === null)
    return {
      kind: "refused",
      rule: "unknown-unit",
      sentence: `This log is of ${log.unit}, and there is no such unit here. Nothing of it was loaded.`,
    };
  const counts = await append(services, known.serial, log.records, onCommitted);
  appendAudit(services.db, {
    at: services.clock.now(),
    actor,
    action: "load-unit-log",
    subject: `unit:${known.serial}`,
    detail: { records: log.records.length, faults: log.faults.length, ...counts },
  });
  services.live.changed("bench", `unit:${known.serial}`);
  return { kind: "loaded", unit: known.serial, ...counts, faults: log.faults };
}

async function append(
  services: Services,
  unit: UnitSerial,
  records: readonly LogRecord[],
  onCommitted: (units: readonly UnitSerial[]) => void,
) {
  const counts = { stored: 0, alreadyHad: 0, keptAside: 0 };
  for (let at = 0; at < records.length; at += batchSize) {
    const batch = records.slice(at, at + batchSize).flatMap((record) => messageOf(services, unit, record));
    const outcome = await services.telemetry.append(batch);
    counts.stored += outcome.stored;
    counts.alreadyHad += outcome.duplicates;
    counts.keptAside += outcome.keptAside;
    // A request for a certificate is answered over the connection it came by, and this is none.
    takeAnswers(services, batch, async () => {});
    onCommitted([unit]);
  }
  return counts;
}

/** The cable says whose it is, as a certificate does; the topic follows from what the message is (FP-15.6). */
function messageOf(services: Services, unit: UnitSerial, { payload }: LogRecord): readonly IncomingMessage[] {
  const message = decodeUplink(payload);
  const topic =
    message.kind === "unreadable" ? `${topicRoot(unit)}/up/${unknownKind}` : uplinkTopic(unit, message.kind);
  const acceptance = acceptMessage(unit, topic, payload, services.clock.now());
  return acceptance.kind === "accepted" ? [acceptance.message] : [];
}
