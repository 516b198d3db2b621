import type { Client } from "aedes";
import { encodeDownlink } from "../../firmware-protocol/src/encode.ts";
import type { DownlinkKind } from "../../firmware-protocol/src/messages.ts";
import { downlinkTopic } from "../../firmware-protocol/src/topics.ts";
import type { CommandId } from "../domain/ids.ts";
import { commandsToSend, noteCommandAcknowledged } from "../programme/follow-command.ts";
import { certificateToSend } from "../programme/renew-certificates.ts";
import type { Services } from "../services.ts";
import type { StoredUpTo } from "../store/telemetry-port.ts";
import { certificateBytes, commandBytes } from "./command-bytes.ts";
import type { Device } from "./device-auth.ts";
import { kindsAskedFor } from "./down-filter.ts";
import { planInForce } from "./plan-in-force.ts";
import { ReceiptSender } from "./receipts.ts";

const noPlan = 0;

/** One unit's open connection, and what it has asked to be told. Messages go to it alone and not through the broker's
 *  distribution, so that a slow reader holds up nobody else. */
export class UnitSession {
  readonly device: Device;
  readonly client: Client;
  readonly #services: Services;
  readonly #filters = new Map<string, 0 | 1>();
  readonly #receipts: ReceiptSender;
  #stopFollowing: () => void = () => {};
  readonly #stopFollowingCommands: () => void;
  /** What was sent with QoS 1 and not acknowledged yet, in order: a client acknowledges in the order in which messages
   *  reached it [MQTT-4.6.0-2]. null: nobody needs to know. */
  readonly #unacknowledged: (CommandId | null)[] = [];
  /** Commands and certificates this connection was told already. */
  readonly #told = new Set<string>();
  /** Version of the plan the unit was last told, 0 for "none in force"; null before it was told anything. */
  #planTold: number | null = null;

  constructor(services: Services, client: Client, device: Device) {
    this.#services = services;
    this.client = client;
    this.device = device;
    this.#receipts = new ReceiptSender(services.clock, (receipt, sent) =>
      this.#publish("receipt", encodeDownlink(receipt), sent),
    );
    this.#stopFollowingCommands = services.live.follow([`commands:${device.unit}`], () => this.#sendAsked());
  }

  /** After a subscription was granted. The plan follows it at once: nothing is kept for a unit that isn't there. */
  subscribed(filter: string, qos: number): void {
    this.#filters.set(filter, qos === 0 ? 0 : 1);
    if (kindsAskedFor(this.device.unit, filter).includes("plan")) {
      this.#planTold = null;
      this.#sendPlan();
    }
    this.#told.clear();
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
    if (command !== null) noteCommandAcknowledged(this.#services, this.device.unit, command);
  }

  drop(): void {
    this.client.close();
  }

  ended(): void {
    this.#stopFollowing();
    this.#stopFollowingCommands();
  }

  #sendPlan(): void {
    const { db, clock, live } = this.#services;
    this.#stopFollowing();
    const { plan, changesWith } = planInForce(db, this.device.unit, clock.now());
    this.#stopFollowing = live.follow(changesWith, () => this.#sendPlan());
    const version = plan?.version ?? noPlan;
    if (version === this.#planTold) return;
    this.#planTold = version;
    // [FP-7.8] No bytes: no plan is in force.
    this.#publish("plan", plan === null ? new Uint8Array() : encodeDownlink(plan), () => {});
  }

  /** Each command and certificate once a connection, until the unit has answered (FP-11.1, FP-12.4). */
  #sendAsked(): void {
    const { unit, certificate: connectedBy } = this.device;
    if (this.#qosFor("command") !== null) {
      for (const command of commandsToSend(this.#services, unit)) {
        if (this.#told.has(command.id)) continue;
        this.#told.add(command.id);
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
    if (this.#told.has(name)) return;
    this.#told.add(name);
    this.#publish("certificate", certificateBytes(renewed), () => {});
  }

  #publish(
    kind: DownlinkKind,
    payload: Uint8Array,
    done: () => void,
    command: CommandId | null = null,
  ): void {
    const qos = this.#qosFor(kind);
    if (qos === null || this.client.closed) {
      done();
      return;
    }
    const topic = downlinkTopic(this.device.unit, kind);
    if (qos === 1) this.#unacknowledged.push(command);
    this.client.publish(
      { cmd: "publish", topic, payload: Buffer.from(payload), qos, retain: false, dup: false },
      done,
    );
  }

  /** null: it hasn't asked for this kind. */
  #qosFor(kind: DownlinkKind): 0 | 1 | null {
    let highest: 0 | 1 | null = null;
    for (const [filter, qos] of this.#filters) {
      if (highest !== 1 && kindsAskedFor(this.device.unit, filter).includes(kind)) highest = qos;
    }
    return highest;
  }
}
