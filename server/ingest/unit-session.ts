import type { DownlinkKind } from "../../firmware-protocol/src/downlink.ts";
import { encodeDownlink } from "../../firmware-protocol/src/encode.ts";
import { downlinkTopic } from "../../firmware-protocol/src/topics.ts";
import type { CertificateSerial, CommandId, UnitSerial } from "../domain/ids.ts";
import { commandsToSend, noteCommandAcknowledged } from "../programme/follow-command.ts";
import { certificateToSend } from "../programme/renew-certificates.ts";
import type { Services } from "../services.ts";
import type { StoredUpTo } from "../store/telemetry-port.ts";
import { certificateBytes, commandBytes } from "./command-bytes.ts";
import { kindsAskedFor } from "./down-filter.ts";
import { planInForce } from "./plan-in-force.ts";
import { ReceiptSender } from "./receipts.ts";
import type { UnitLine } from "./unit-line.ts";

const noPlan = 0;

/** One unit within reach, and what it has asked to be told. Messages go to it alone and not through the broker's
 *  distribution, so that a slow reader holds up nobody else. */
export class UnitSession {
  readonly unit: UnitSerial;
  /** The certificate its connection was opened with; null where somebody else holds the connection. */
  readonly connectedBy: CertificateSerial | null;
  readonly #line: UnitLine;
  readonly #services: Services;
  readonly #filters = new Map<string, 0 | 1>();
  readonly #receipts: ReceiptSender;
  #stopFollowing: () => void = () => {};
  readonly #stopFollowingCommands: () => void;
  /** What was sent with QoS 1 and not acknowledged yet, in order: a client acknowledges in the order in which messages
   *  reached it [MQTT-4.6.0-2]. null: nobody needs to know. */
  readonly #unacknowledged: (CommandId | null)[] = [];
  /** What this connection was told already. */
  readonly #commandsTold = new Set<CommandId>();
  /** By the renewal each answers (FP-12.4): the same certificate may answer two. */
  readonly #renewalsTold = new Set<string>();
  /** Version of the plan the unit was last told, 0 for "none in force"; null before it was told anything. */
  #planTold: number | null = null;

  constructor(services: Services, unit: UnitSerial, line: UnitLine, connectedBy: CertificateSerial | null) {
    this.#services = services;
    this.unit = unit;
    this.#line = line;
    this.connectedBy = connectedBy;
    this.#receipts = new ReceiptSender(services.clock, (receipt, sent) =>
      this.#publish("receipt", encodeDownlink(receipt), sent),
    );
    this.#stopFollowingCommands = services.live.follow([`commands:${unit}`], () => this.#sendAsked());
  }

  /** After a subscription was granted. The plan follows it at once: nothing is kept for a unit that isn't there. */
  subscribed(filter: string, qos: number): void {
    this.#filters.set(filter, qos === 0 ? 0 : 1);
    if (kindsAskedFor(this.unit, filter).includes("plan")) {
      this.#planTold = null;
      this.#sendPlan();
    }
    this.#commandsTold.clear();
    this.#renewalsTold.clear();
    this.#sendAsked();
  }

  unsubscribed(filter: string): void {
    this.#filters.delete(filter);
  }

  stored(boots: readonly StoredUpTo[]): void {
    this.#receipts.stored(boots);
  }

  /** The unit has acknowledged the oldest message that it had not yet. */
  acknowledged(): void {
    const command = this.#unacknowledged.shift() ?? null;
    if (command !== null) noteCommandAcknowledged(this.#services, this.unit, command);
  }

  /** Whoever carries messages between us doesn't say when the unit comes back: what it was asked and has not answered
   *  is told anew. Certificates are long, and a unit that still lacks one asks again. */
  tellCommandsAgain(): void {
    this.#commandsTold.clear();
    this.#sendAsked();
  }

  /** A broker in front would go on giving it to the next connection. */
  tellNoPlan(): void {
    this.#publish("plan", new Uint8Array(), () => {});
  }

  drop(): void {
    this.#line.close();
  }

  ended(): void {
    this.#stopFollowing();
    this.#stopFollowingCommands();
  }

  #sendPlan(): void {
    const { db, clock, live } = this.#services;
    this.#stopFollowing();
    const { plan, changesWith } = planInForce(db, this.unit, clock.now());
    this.#stopFollowing = live.follow(changesWith, () => this.#sendPlan());
    const version = plan?.version ?? noPlan;
    if (version === this.#planTold) return;
    this.#planTold = version;
    // [FP-7.8] No bytes: no plan is in force.
    this.#publish("plan", plan === null ? new Uint8Array() : encodeDownlink(plan), () => {});
  }

  /** Each command and certificate once a connection, until the unit has answered (FP-11.1, FP-12.4). */
  #sendAsked(): void {
    const { unit, connectedBy } = this;
    if (this.#qosFor("command") !== null) {
      for (const command of commandsToSend(this.#services, unit)) {
        if (this.#commandsTold.has(command.id)) continue;
        this.#commandsTold.add(command.id);
        if (command.kind === "plan") {
          this.#planTold = null;
          this.#sendPlan();
        }
        this.#publish("command", commandBytes(command), () => {}, command.id);
      }
    }
    const renewed = this.#qosFor("certificate") === null ? null : certificateToSend(this.#services, unit);
    if (renewed === null || renewed.certificate.serial === connectedBy) return;
    const name = `${renewed.renewal.boot} ${renewed.renewal.sequence}`;
    if (this.#renewalsTold.has(name)) return;
    this.#renewalsTold.add(name);
    this.#publish("certificate", certificateBytes(renewed), () => {});
  }

  #publish(
    kind: DownlinkKind,
    payload: Uint8Array,
    done: () => void,
    command: CommandId | null = null,
  ): void {
    const qos = this.#qosFor(kind);
    if (qos === null || this.#line.closed) {
      done();
      return;
    }
    if (qos === 1) this.#unacknowledged.push(command);
    this.#line.publish(
      kind,
      { topic: downlinkTopic(this.unit, kind), payload: Buffer.from(payload), qos },
      done,
    );
  }

  /** null: it hasn't asked for this kind. */
  #qosFor(kind: DownlinkKind): 0 | 1 | null {
    let highest: 0 | 1 | null = null;
    for (const [filter, qos] of this.#filters) {
      if (highest !== 1 && kindsAskedFor(this.unit, filter).includes(kind)) highest = qos;
    }
    return highest;
  }
}
