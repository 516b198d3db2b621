import { type UnitSerial, unitSerial } from "../../server/domain/ids.ts";
import { type Instant, instant, millisecondsIn } from "../../server/domain/units.ts";
import { assessUnit } from "../../server/programme/assess-units.ts";
import { lookForIdentityTrouble } from "../../server/programme/look-for-identity-trouble.ts";
import { reviewUnit } from "../../server/programme/review-unit.ts";
import { watchFleet } from "../../server/programme/watch-fleet.ts";
import { settingsInForce } from "../../server/store/settings.ts";
import type { IncomingMessage } from "../../server/store/telemetry-port.ts";
import type { CaseServices } from "./case-services.ts";
import type { Manifest } from "./manifest.ts";
import type { RegistryEvent } from "./registry-events.ts";

export interface Told {
  readonly manifest: Manifest;
  readonly messages: readonly IncomingMessage[];
  readonly events: readonly RegistryEvent[];
  readonly until: Instant;
}

/** Health is worked out this often, as it reads weeks of record; and once more at the end. */
const assessEvery = 24 * millisecondsIn.hour;

/** Lets a case happen again: each message is stored when it arrived, each registry entry when it was made, and units
 *  are reviewed as the service does it, with what was known by then. Between regular reviews a unit is looked at once
 *  more whenever it speaks after a silence, so that the silence is on record before what fills it comes in. */
export async function replay(services: CaseServices, told: Told): Promise<void> {
  const units = told.manifest.units.map(({ serial }) => unitSerial(serial));
  const silence = settingsInForce(services.db).shortestGapMinutes * millisecondsIn.minute;
  const lastHeard = new Map<UnitSerial, Instant>();
  const step = told.manifest.reviewEveryHours * millisecondsIn.hour;
  const events = told.events.filter(({ at }) => at <= told.until);
  const messages = told.messages.filter(({ receivedAt }) => receivedAt <= told.until);
  const first = Math.min(events[0]?.at ?? told.until, messages[0]?.receivedAt ?? told.until);
  let nextEvent = 0;
  let nextMessage = 0;
  let assessed = Number.NEGATIVE_INFINITY;

  const learnUntil = (to: Instant): void => {
    for (let event = events[nextEvent]; event && event.at <= to; event = events[++nextEvent]) {
      services.setTime(event.at);
      event.apply(services.db);
    }
  };
  const store = async (batch: readonly IncomingMessage[]): Promise<void> => {
    if (batch.length > 0) await services.telemetry.append(batch);
  };
  const receiveUntil = async (to: Instant): Promise<void> => {
    let batch: IncomingMessage[] = [];
    for (
      let message = messages[nextMessage];
      message && message.receivedAt <= to;
      message = messages[++nextMessage]
    ) {
      const { unit, receivedAt } = message;
      if (receivedAt - (lastHeard.get(unit) ?? receivedAt) > silence) {
        await store(batch);
        batch = [];
        const before = instant(receivedAt - 1);
        learnUntil(before);
        services.setTime(before);
        await reviewUnit(services, unit);
      }
      lastHeard.set(unit, receivedAt);
      batch.push(message);
    }
    await store(batch);
  };

  // Whole multiples of the step, so that the moments of review don't hang on the first message's second.
  for (let at = Math.ceil((first + 1) / step) * step; ; at += step) {
    const to = instant(Math.min(at, told.until));
    await receiveUntil(to);
    learnUntil(to);
    services.setTime(to);
    const isLast = to >= told.until;
    const assess = isLast || to - assessed >= assessEvery;
    if (assess) assessed = to;
    for (const unit of units) {
      if (assess) {
        await assessUnit(services, unit);
        await lookForIdentityTrouble(services, unit);
      }
      await reviewUnit(services, unit);
    }
    await watchFleet(services);
    if (isLast) return;
  }
}
