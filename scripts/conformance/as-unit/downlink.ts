import { decodeDownlink } from "../../../firmware-protocol/src/decode.ts";
import type { DownlinkMessage, Receipt } from "../../../firmware-protocol/src/downlink.ts";
import { downlinkTopic } from "../../../firmware-protocol/src/topics.ts";
import { kindsByClause } from "../clauses.ts";
import type { Findings } from "../findings.ts";
import { Mailbox } from "../mailbox.ts";
import type { PublishHeard } from "../mqtt/packet-reader.ts";

/** What came down: a message, or the payload of no bytes that ends a plan. */
export type FromServer = DownlinkMessage | { readonly kind: "no-plan" };

/** Clauses that a strict reader has checked whatever the kind. */
const ofEveryMessage = ["1", "2", "3", "4", "5", "6", "7", "8", "9", "10"]
  .map((number) => `FP-3.${number}`)
  .concat("FP-4.1", "FP-4.2", "FP-4.8", "FP-4.9");

/** Looks at everything that comes down, whatever check is under way. */
export class Downlink {
  readonly #unit: string;
  readonly #findings: Findings;
  readonly #kinds = new Map<string, number>();
  /** Those of the connection that is open. */
  mailbox = new Mailbox<FromServer>();

  constructor(unit: string, findings: Findings) {
    this.#unit = unit;
    this.#findings = findings;
  }

  /** A new connection: what came over the one before is of no interest any more. */
  begin(): void {
    this.mailbox = new Mailbox<FromServer>();
  }

  take(packet: PublishHeard, receipted: (receipt: Receipt) => void): void {
    const kind = packet.topic.slice(packet.topic.lastIndexOf("/") + 1);
    this.#checkDelivery(packet, kind);
    if (packet.payload.length === 0 && kind === "plan") {
      this.mailbox.put({ kind: "no-plan" });
      return;
    }
    const message = decodeDownlink(packet.payload);
    if (message.kind === "unreadable") {
      this.#findings.broken(message.clause, `a message on ${packet.topic} breaks it: ${message.reason}`);
      return;
    }
    const expected = downlinkTopic(this.#unit, message.kind);
    if (packet.topic !== expected)
      this.#findings.broken("FP-2.2", `a ${message.kind} came on ${packet.topic}, not on ${expected}`);
    this.#kinds.set(message.kind, (this.#kinds.get(message.kind) ?? 0) + 1);
    if (message.kind === "receipt") receipted(message);
    this.mailbox.put(message);
  }

  #checkDelivery(packet: PublishHeard, kind: string): void {
    if (packet.retain && kind !== "plan")
      this.#findings.broken("FP-2.10", `a message on ${packet.topic} came with the retain flag`);
    if ((kind === "command" || kind === "certificate") && packet.qos !== 1)
      this.#findings.broken("FP-2.10", `a ${kind} came with QoS ${packet.qos}, not 1`);
  }

  /** What the strict reader has let through is right in every clause that rules its kind. */
  sumUp(): void {
    for (const [clause, kinds] of kindsByClause("down")) {
      if (ofEveryMessage.includes(clause)) continue;
      const seen = [...kinds].filter((kind) => this.#kinds.has(kind));
      const told = seen.map((kind) => `${this.#kinds.get(kind)} ${kind}`).join(", ");
      if (seen.length > 0) this.#findings.holds(clause, `in every message from the server (${told})`);
    }
    const total = [...this.#kinds.values()].reduce((sum, count) => sum + count, 0);
    for (const clause of total > 0 ? ofEveryMessage : [])
      this.#findings.holds(clause, `in each of ${total} messages from the server`);
    if (total > 0)
      this.#findings.holds("FP-2.10", `QoS and retain flag of ${total} messages are as the table says`);
  }
}
