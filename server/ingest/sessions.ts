import type { UnitSerial } from "../domain/ids.ts";
import type { Instant } from "../domain/units.ts";
import type { Services } from "../services.ts";
import { usableCertificatesOf } from "../store/certificates.ts";
import type { Database } from "../store/database.ts";
import { isStillGood } from "./device-auth.ts";
import type { UnitSession } from "./unit-session.ts";

/** For certificates that run out while their unit stays connected. */
const recheckMilliseconds = 10 * 60_000;

/** The open sessions, one a unit; those whose certificate is no longer good are dropped as soon as we know. */
export class Sessions {
  readonly #services: Services;
  readonly #byUnit = new Map<UnitSerial, UnitSession>();
  readonly #stopFollowing: () => void;
  readonly #timer: NodeJS.Timeout;

  constructor(services: Services) {
    this.#services = services;
    this.#stopFollowing = services.live.follow(["certificates"], () => this.recheck());
    this.#timer = setInterval(() => this.recheck(), recheckMilliseconds).unref();
  }

  open(session: UnitSession): void {
    this.#byUnit.set(session.unit, session);
  }

  of(unit: UnitSerial): UnitSession | undefined {
    return this.#byUnit.get(unit);
  }

  units(): UnitSerial[] {
    return [...this.#byUnit.keys()];
  }

  /** A session that another of the same unit has taken over leaves the new one in place. */
  ended(session: UnitSession): void {
    session.ended();
    if (this.#byUnit.get(session.unit) === session) this.#byUnit.delete(session.unit);
  }

  recheck(): void {
    const { db, clock, log } = this.#services;
    for (const session of this.#byUnit.values()) {
      if (isGood(session, db, clock.now())) continue;
      log.info({ unit: session.unit }, "session dropped: its certificate is no longer good");
      session.drop();
    }
  }

  stop(): void {
    clearInterval(this.#timer);
    this.#stopFollowing();
  }
}

const isGood = ({ unit, connectedBy }: UnitSession, db: Database, now: Instant): boolean =>
  connectedBy === null ? usableCertificatesOf(db, unit, now).length > 0 : isStillGood(db, connectedBy, now);
