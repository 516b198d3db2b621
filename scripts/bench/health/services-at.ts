import pino from "pino";
import { systemChance } from "../../../server/chance.ts";
import { zoneName } from "../../../server/domain/time/local-day.ts";
import type { Instant } from "../../../server/domain/units.ts";
import { createLiveEvents } from "../../../server/live.ts";
import type { Services } from "../../../server/services.ts";
import type { OpenDatabase } from "../../../server/store/database.ts";
import { createTelemetryStore } from "../../../server/store/telemetry.ts";

/** A service's own parts on a file of the bench, at whatever time `now` says. */
export function servicesAt(database: OpenDatabase, now: () => Instant): Services {
  const zone = zoneName("Europe/London");
  if (zone === null) throw new Error("no such zone");
  return {
    clock: { now },
    chance: systemChance,
    zone,
    db: database.db,
    telemetry: createTelemetryStore(database),
    live: createLiveEvents(),
    log: pino({ level: "silent" }),
  };
}
