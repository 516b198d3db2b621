import { decodeUplink } from "../../../firmware-protocol/src/decode.ts";
import type { StoredUpTo } from "../../../firmware-protocol/src/downlink.ts";
import { maximumBootsPerReceipt, maximumHolesPerBoot } from "../../../firmware-protocol/src/limits.ts";
import type { UplinkMessage } from "../../../firmware-protocol/src/messages.ts";
import { uplinkTopic } from "../../../firmware-protocol/src/topics.ts";
import type { Findings } from "../findings.ts";
import type { PublishHeard } from "../mqtt/packet-reader.ts";

/** "boot sequence" */
export type Name = string;
export const nameOf = ({ boot, sequence }: { boot: number; sequence: number }): Name => `${boot} ${sequence}`;

/** Everything that the unit has sent, by name. Looks at each message as it comes. */
export class Heard {
  readonly #unit: string;
  readonly #findings: Findings;
  readonly #bytes = new Map<Name, string>();
  readonly messages = new Map<Name, UplinkMessage>();
  resends = 0;

  constructor(unit: string, findings: Findings) {
    this.#unit = unit;
    this.#findings = findings;
  }

  /** @returns null for what can't be read */
  take(packet: PublishHeard): UplinkMessage | null {
    const { topic, payload, qos, retain } = packet;
    if (qos !== 1) this.#findings.broken("FP-2.5", `a message on ${topic} came with QoS ${qos}`);
    if (retain) this.#findings.broken("FP-2.5", `a message on ${topic} came with the retain flag`);
    const message = decodeUplink(payload);
    if (message.kind === "unreadable") {
      this.#findings.broken(message.clause, `a message on ${topic} breaks it: ${message.reason}`);
      return null;
    }
    if (topic !== uplinkTopic(this.#unit, message.kind) || message.unit !== this.#unit)
      this.#findings.broken("FP-2.1", `a ${message.kind} of ${message.unit} came on ${topic}`);
    this.#know(message, Buffer.from(payload).toString("hex"));
    return message;
  }

  #know(message: UplinkMessage, bytes: string): void {
    const name = nameOf(message);
    const before = this.#bytes.get(name);
    if (before === undefined) {
      this.#bytes.set(name, bytes);
      this.messages.set(name, message);
      return;
    }
    this.resends += 1;
    if (before !== bytes) {
      const told = `boot ${message.boot} sequence ${message.sequence} came again with other bytes`;
      this.#findings.broken("FP-4.5", told);
      this.#findings.broken("FP-6.7", told);
    }
  }

  /** What a receipt may say now.
   *  @param except names that are to be listed as not stored */
  stored(except: ReadonlySet<Name> = new Set()): StoredUpTo[] {
    const byBoot = new Map<number, number[]>();
    for (const [name, { boot, sequence }] of this.messages)
      if (!except.has(name)) byBoot.set(boot, [...(byBoot.get(boot) ?? []), sequence]);
    return [...byBoot]
      .sort(([a], [b]) => a - b)
      .slice(-maximumBootsPerReceipt)
      .map(([boot, sequences]) => upTo(boot, sequences));
  }
}

function upTo(boot: number, sequences: readonly number[]): StoredUpTo {
  const holes: [number, number][] = [];
  let through = -1;
  for (const sequence of [...sequences].sort((a, b) => a - b)) {
    if (sequence > through + 1) {
      if (holes.length === maximumHolesPerBoot) break;
      holes.push([through + 1, sequence - 1]);
    }
    through = sequence;
  }
  return { boot, through, holes };
}
