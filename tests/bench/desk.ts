import type { Hono } from "hono";
import type { UplinkMessage } from "../../firmware-protocol/src/messages.ts";
import type { CushionSpec } from "../../scripts/simulated-cushions/cushion-spec.ts";
import type { Person } from "../../scripts/simulated-cushions/person.ts";
import { type UnitSerial, unitSerial } from "../../server/domain/ids.ts";
import { type Instant, instant } from "../../server/domain/units.ts";
import { createApp } from "../../server/http/app.ts";
import { assetRoutes } from "../../server/http/assets-routes.ts";
import { benchRoutes } from "../../server/http/bench-routes.tsx";
import type { AppEnv } from "../../server/http/route.ts";
import { unit } from "../../server/store/schema/equipment.ts";
import { deliver } from "../health/recorded.ts";
import { live, soundCushion, start } from "../simulated-cushions/cast.ts";
import { type TestServices, testServices, things } from "../support/cast.ts";

export const day = 86_400_000;

export interface BenchDesk {
  readonly services: TestServices;
  readonly app: Hono<AppEnv>;
}

/** The technician's desk over a fresh programme. */
export function benchDesk(): BenchDesk {
  const services = testServices();
  const app = createApp(services, [...assetRoutes, ...benchRoutes(services)], {
    baseUrl: "http://localhost",
  });
  return { services, app };
}

export interface Story {
  readonly serial?: UnitSerial;
  readonly days: number;
  readonly spec?: Partial<CushionSpec>;
  readonly person?: Person;
  readonly seed?: string;
  /** Says one more thing than the cushion itself did. */
  readonly fault?: "cell-hot" | "wet";
}

/** A simulated cushion lives for some days and its messages come in; the clock stands at their end. */
export async function lived(services: TestServices, story: Story): Promise<UnitSerial> {
  const serial = story.serial ?? things.lentUnit;
  const { cushion } = live({ ...story, spec: { ...soundCushion, ...story.spec, serial } });
  const end: Instant = instant(start + story.days * day);
  services.clock.set(end);
  const messages = cushion.store.messages;
  await deliver(
    services.telemetry,
    story.fault ? [...messages, alarm(messages, story.fault)] : messages,
    end,
  );
  return serial;
}

export function addUnit(services: TestServices, serial: string): UnitSerial {
  const added = unitSerial(serial);
  services.db
    .insert(unit)
    .values({
      serial: added,
      modelId: things.model,
      lotId: things.lot,
      place: "on-the-bench",
      placeSince: services.clock.now(),
    })
    .run();
  return added;
}

/** What the unit itself would write if its cell grew hot now. */
function alarm(messages: readonly UplinkMessage[], fault: "cell-hot" | "wet"): UplinkMessage {
  const last = messages.at(-1);
  if (!last) throw new Error("the cushion never said anything");
  return {
    kind: "fault",
    unit: last.unit,
    boot: last.boot,
    sequence: last.sequence + 1,
    uptimeSeconds: last.uptimeSeconds,
    wallSeconds: last.wallSeconds,
    fault,
    atUptimeSeconds: last.uptimeSeconds,
    lost: null,
    value: fault === "cell-hot" ? 612 : null,
  };
}
