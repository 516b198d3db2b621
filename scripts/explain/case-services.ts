import { createHash } from "node:crypto";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { pino } from "pino";
import type { Chance } from "../../server/chance.ts";
import type { ZoneName } from "../../server/domain/time/local-day.ts";
import { type Instant, instant } from "../../server/domain/units.ts";
import { createLiveEvents } from "../../server/live.ts";
import type { Services } from "../../server/services.ts";
import { openDatabase } from "../../server/store/database.ts";
import { createTelemetryStore } from "../../server/store/telemetry.ts";

export interface CaseServices extends Services {
  /** The only clock there is: it stands where the telling has got to. */
  setTime(to: Instant): void;
  close(): void;
}

/** The service's own parts on a database of their own, thrown away afterwards. */
export function openCaseServices(zone: ZoneName): CaseServices {
  const folder = mkdtempSync(join(tmpdir(), "cushionry-case-"));
  const database = openDatabase(folder);
  // Nothing here has to outlive the process.
  database.driver.pragma("synchronous = OFF");
  let now = instant(0);
  return {
    zone,
    db: database.db,
    telemetry: createTelemetryStore(database),
    live: createLiveEvents(),
    log: pino({ level: "warn" }, pino.destination(2)),
    clock: { now: () => now },
    chance: repeatableChance(),
    setTime: (to) => {
      now = to;
    },
    close: () => {
      database.close();
      rmSync(folder, { recursive: true, force: true });
    },
  };
}

/** The same case gives the same output, ids and all. */
function repeatableChance(): Chance {
  let counter = 0;
  return {
    bytes: (count) => {
      const bytes = new Uint8Array(count);
      for (let filled = 0; filled < count; filled += 32) {
        const block = createHash("sha256").update(`case:${counter++}`).digest();
        bytes.set(block.subarray(0, Math.min(32, count - filled)), filled);
      }
      return bytes;
    },
  };
}
