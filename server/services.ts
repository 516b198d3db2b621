import type { Logger } from "pino";
import type { Chance } from "./chance.ts";
import type { Clock } from "./clock.ts";
import type { ZoneName } from "./domain/time/local-day.ts";
import type { LiveEvents } from "./live.ts";
import type { Database } from "./store/database.ts";
import type { TelemetryStore } from "./store/telemetry-port.ts";

/** What a programme function may use. Built once, in start.ts; tests build their own. */
export interface Services {
  readonly clock: Clock;
  readonly chance: Chance;
  readonly zone: ZoneName;
  readonly db: Database;
  readonly telemetry: TelemetryStore;
  readonly live: LiveEvents;
  readonly log: Logger;
}
