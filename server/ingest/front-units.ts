import type { MqttClient } from "mqtt";
import { downlinkFilter } from "../../firmware-protocol/src/topics.ts";
import type { UnitSerial } from "../domain/ids.ts";
import { type Instant, millisecondsIn } from "../domain/units.ts";
import { certificateUsed } from "../programme/renew-certificates.ts";
import type { Services } from "../services.ts";
import { unitsWithUsableCertificate, usableCertificatesOf } from "../store/certificates.ts";
import type { Sessions } from "./sessions.ts";
import type { UnitLine } from "./unit-line.ts";
import { UnitSession } from "./unit-session.ts";

/** A unit behind a broker comes and goes unseen, so what it hasn't answered is told again while it is heard. Telling
 *  twice does nothing twice (FP-11.1). */
const commandsAgainAfter = 5 * millisecondsIn.minute;
const allAgainAfter = 24 * millisecondsIn.hour;

interface Told {
  commandsAt: Instant;
  allAt: Instant;
}

/** The units that may be behind a broker in front: those with a certificate that is still good, heard or not, so that a
 *  plan that changes while a unit is away is there when it returns. */
export class FrontUnits {
  readonly #services: Services;
  readonly #sessions: Sessions;
  readonly #client: MqttClient;
  readonly #told = new Map<UnitSerial, Told>();

  constructor(services: Services, sessions: Sessions, client: MqttClient) {
    this.#services = services;
    this.#sessions = sessions;
    this.#client = client;
  }

  /** The broker in front may have lost everything it kept: each unit is told anew. */
  tellAll(): void {
    const now = this.#services.clock.now();
    for (const unit of unitsWithUsableCertificate(this.#services.db, now)) this.#tellAll(unit, now);
  }

  /** @returns whether it is a unit we listen to; the broker's own list of revoked certificates may be an old one */
  heard(unit: UnitSerial): boolean {
    const now = this.#services.clock.now();
    const told = this.#told.get(unit);
    if (this.#sessions.of(unit) === undefined || told === undefined || now - told.allAt >= allAgainAfter) {
      return this.#tellAll(unit, now);
    }
    if (now - told.commandsAt >= commandsAgainAfter) {
      told.commandsAt = now;
      this.#sessions.of(unit)?.tellCommandsAgain();
    }
    return true;
  }

  #tellAll(unit: UnitSerial, now: Instant): boolean {
    const usable = usableCertificatesOf(this.#services.db, unit, now);
    const [newest] = usable;
    if (newest === undefined) return false;
    // With one certificate left, that is the one it uses: the end of a renewal that nobody could watch.
    if (usable.length === 1) certificateUsed(this.#services, unit, newest.serial);
    const session = this.#sessions.of(unit) ?? this.#open(unit);
    this.#told.set(unit, { commandsAt: now, allAt: now });
    session.subscribed(downlinkFilter(unit), 1);
    return true;
  }

  #open(unit: UnitSerial): UnitSession {
    let isOpen = true;
    const client = this.#client;
    const line: UnitLine = {
      get closed() {
        return !isOpen || !client.connected;
      },
      // FP-2.10: the plan alone is kept by the broker, for a unit that subscribes later.
      publish: (kind, { topic, payload, qos }, written) => {
        client.publish(topic, payload, { qos, retain: kind === "plan" }, written);
      },
      close: () => {
        if (!isOpen) return;
        session.tellNoPlan();
        isOpen = false;
        this.#told.delete(unit);
        this.#sessions.ended(session);
      },
    };
    const session = new UnitSession(this.#services, unit, line, null);
    this.#sessions.open(session);
    return session;
  }
}
