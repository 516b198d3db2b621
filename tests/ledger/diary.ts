import { eq } from "drizzle-orm";
import { encodeUplink } from "../../firmware-protocol/src/encode.ts";
import type { MinuteRecord, UplinkMessage } from "../../firmware-protocol/src/messages.ts";
import { uplinkTopic } from "../../firmware-protocol/src/topics.ts";
import type { LoanId } from "../../server/domain/ids.ts";
import { type Instant, instant, probability } from "../../server/domain/units.ts";
import type { Stretch, Verdict } from "../../server/domain/verdicts/verdict.ts";
import { type Judge, reviewUnit } from "../../server/programme/review-unit.ts";
import { digestedDaysFrom, ledgerDaysOf } from "../../server/store/ledger-days.ts";
import { loan, reliefPlan } from "../../server/store/schema/loans.ts";
import { stretchesOf } from "../../server/store/stretches.ts";
import { type TestServices, testServices, things } from "../support/cast.ts";

export const unit = things.lentUnit;
export const minute = 60_000;
export const hour = 60 * minute;

/** What a cushion saw, spell after spell, as messages in its own words. `silent` minutes are never recorded. */
export interface Spell {
  readonly state: "seated" | "off" | "on-charge" | "silent";
  readonly minutes: number;
  /** Minutes into the spell. */
  readonly reliefs?: readonly number[];
  readonly wet?: boolean;
  /** Hours until its messages reach us; null: the unit still holds them. */
  readonly late?: number | null;
  /** The unit's store overran: its messages are gone, and the next spell's first message says so. */
  readonly lost?: boolean;
  /** Says nothing yet of what was lost before. */
  readonly keepsQuiet?: boolean;
}

export interface Delivery {
  readonly at: Instant;
  readonly message: UplinkMessage;
}

const recordOf = (state: Spell["state"]): MinuteRecord => ({
  loaded: state === "seated",
  power: state === "on-charge" ? "charging" : "on-battery",
  loadHectograms: state === "seated" ? 612 : 0,
  centreRightPercent: 0,
  centreFrontPercent: 0,
  cellMillivolts: 3_890,
  temperatureDecicelsius: 284,
  signalDecibelMilliwatts: -61,
});

const batchMinutes = 10;
/** So that what is lost is waited for first. */
const hoursToOwnUp = 30;

/** One boot's messages for these spells from `start` on, in batches, with when each arrives. */
export function diary(start: Instant, spells: readonly Spell[], boot = 1): Delivery[] {
  const deliveries: Delivery[] = [];
  let sequence = 0;
  const lost: { boot: number; fromSequence: number; toSequence: number }[] = [];
  let second = 0;
  const envelope = (at: number) => ({
    unit,
    boot,
    sequence: sequence++,
    uptimeSeconds: at,
    wallSeconds: Math.floor(start / 1_000) + at,
  });
  const deliver = (message: UplinkMessage, { late = 0, lost: isLost = false }: Partial<Spell>) => {
    if (late === null || isLost) return;
    deliveries.push({ at: instant(start + message.uptimeSeconds * 1_000 + late * hour), message });
  };
  for (const spell of spells) {
    const end = second + spell.minutes * 60;
    if (spell.state === "silent") {
      second = end;
      continue;
    }
    if (!spell.lost && !spell.keepsQuiet)
      for (const range of lost.splice(0)) {
        const told = {
          ...envelope(second),
          fault: "store-overrun",
          atUptimeSeconds: second,
          value: null,
        } as const;
        deliver({ kind: "fault", ...told, lost: range }, { late: hoursToOwnUp });
      }
    const firstSequence = sequence;
    if (spell.wet) {
      const told = {
        ...envelope(second),
        fault: "wet",
        atUptimeSeconds: second,
        lost: null,
        value: null,
      } as const;
      deliver({ kind: "fault", ...told }, spell);
    }
    for (let from = second; from < end; from += batchMinutes * 60) {
      const count = Math.min(batchMinutes, (end - from) / 60);
      const minutes = Array.from({ length: count }, () => recordOf(spell.state));
      deliver({ kind: "minutes", ...envelope(from + count * 60), firstUptimeSeconds: from, minutes }, spell);
    }
    for (const relief of spell.reliefs ?? []) {
      if (relief + 2 > spell.minutes) continue;
      const startUptimeSeconds = second + relief * 60;
      const seen = {
        relief: "lift",
        holdSeconds: 120,
        depthPercent: 90,
        complete: true,
        prompted: false,
      } as const;
      deliver({ kind: "relief", ...envelope(end), startUptimeSeconds, ...seen }, spell);
    }
    if (spell.lost) lost.push({ boot, fromSequence: firstSequence, toSequence: sequence - 1 });
    second = end;
  }
  return deliveries;
}

/** Services whose one loan started at `start`. */
export function servicesFrom(start: Instant): TestServices {
  const services = testServices();
  services.db.update(loan).set({ startedAt: start }).where(eq(loan.id, things.loan)).run();
  services.db.update(reliefPlan).set({ validFrom: start }).run();
  return services;
}

export async function append(services: TestServices, deliveries: readonly Delivery[]): Promise<void> {
  if (deliveries.length === 0) return;
  await services.telemetry.append(
    deliveries.map(({ at, message }) => ({
      unit,
      topic: uplinkTopic(unit, message.kind),
      receivedAt: at,
      payload: encodeUplink(message),
    })),
  );
}

const sides = { device: 0.25, link: 0.25, handling: 0.25, person: 0.25 };

/** Says nothing, and keeps what it was asked. */
export function silentJudge(): { readonly judge: Judge; readonly asked: Stretch[] } {
  const asked: Stretch[] = [];
  const judge: Judge = async ({ clock }, { stretch }): Promise<Verdict> => {
    asked.push(stretch);
    return {
      outcome: "not-settled",
      leadingSide: "device",
      probability: probability(0.25),
      threshold: probability(0.8),
      sides: {
        device: probability(sides.device),
        link: probability(sides.link),
        handling: probability(sides.handling),
        person: probability(sides.person),
      },
      causes: [],
      evidence: [],
      settle: [],
      sentence: "",
      span: { start: stretch.start, end: stretch.end ?? clock.now() },
    };
  };
  return { judge, asked };
}

/** Moves the clock to each moment, takes in what has arrived by then, and reviews. */
export async function live(
  services: TestServices,
  deliveries: readonly Delivery[],
  moments: readonly Instant[],
  judge: Judge = silentJudge().judge,
): Promise<void> {
  let reached = -1;
  for (const now of moments) {
    services.clock.set(now);
    await append(
      services,
      deliveries.filter(({ at }) => at > reached && at <= now),
    );
    reached = now;
    await reviewUnit(services, unit, { judge });
  }
}

/** What the review found, without when it found it. */
export const findings = (services: TestServices, id: LoanId = things.loan) => ({
  days: ledgerDaysOf(services.db, id),
  habits: digestedDaysFrom(services.db, id, instant(0)),
  stretches: stretchesOf(services.db, id)
    .filter(({ filledAt }) => filledAt === null)
    .map(({ kind, start, end }) => ({ kind, start, end })),
});
