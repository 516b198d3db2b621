import type { ResetReason } from "../../../server/domain/record/unit-record.ts";
import { type GapTruth, gapTruths } from "./causes-in-truth.ts";
import type { Draws } from "./chance.ts";
import type { Person } from "./person.ts";
import type { Episode, Troubles } from "./troubles.ts";
import type { World } from "./world.ts";

export interface Boot {
  readonly boot: number;
  readonly at: number;
  readonly reset: ResetReason;
}

/** One unit's 90 days, minute by minute, before anything is sent. */
export interface UnitLife {
  /** On the cushion, whether or not the unit was on. */
  readonly seated: Uint8Array;
  readonly on: Uint8Array;
  /** 0 on battery, 1 charging, 2 charged. */
  readonly power: Uint8Array;
  readonly cell: Uint16Array;
  readonly boot: Uint16Array;
  /** Index in `gapTruths` of why it was off; 0 while on. */
  readonly offCause: Uint8Array;
  readonly boots: readonly Boot[];
  readonly cutOffs: readonly number[];
}

export const codeOf = (cause: GapTruth): number => gapTruths.indexOf(cause);
const enduranceHours = [50, 95] as const;
const chargeHours = 4;

/** Lets battery, charger, hands and faults decide when the unit is on. A flat battery is put down to what made it flat:
 *  the person's absence; the charger; wear, where a sound cell would have lasted; else the charge that did not come. */
export function liveUnit(
  draws: Draws,
  world: World,
  person: Person,
  troubles: Troubles,
  seated: Uint8Array,
): UnitLife {
  const length = seated.length;
  const life = {
    seated,
    on: new Uint8Array(length),
    power: new Uint8Array(length),
    cell: new Uint16Array(length),
    boot: new Uint16Array(length),
    offCause: new Uint8Array(length),
  };
  const boots: Boot[] = [{ boot: 1, at: 0, reset: "power-on" }];
  const cutOffs: number[] = [];
  const away = paint(length, troubles.away);
  const byHand = paint(length, [...troubles.off, ...troubles.away.filter(({ switchesOff }) => switchesOff)]);
  const endurance = draws.between(...enduranceHours) * 60;
  const chargeFrom = chargeStarts(draws, person, length / 1440);
  const tellsCutOff = draws.is(0.8);
  let stored = draws.between(0.5, 1);
  let soundStored = stored;
  let plugged = -1;
  let wasOn = true;
  let lastOff: GapTruth = "none";
  let wasByHand = false;
  for (let at = 0; at < length; at += 1) {
    if (away[at] !== 0) seated[at] = 0;
    const share = capacityAt(troubles, at);
    const planned = chargeFrom[Math.floor(at / 1440)] ?? -1;
    if (at === planned && away[at] === 0) plugged = at;
    const noticed = !wasOn && lastOff !== "switched-off" && stored <= 0 && away[at] === 0;
    // Somebody notices the dark unit sooner or later.
    if (noticed && plugged < 0 && draws.is(1 / 480)) plugged = at;
    if (plugged >= 0) {
      const faulty = troubles.chargerFault && at < troubles.mendedAt;
      const flows = !faulty || (Math.floor((at - plugged) / 7) % 3 === 0 && draws.is(0.5));
      if (flows) stored = Math.min(1, stored + 1 / (chargeHours * 60));
      soundStored = Math.min(1, soundStored + 1 / (chargeHours * 60));
      life.power[at] = flows ? (stored >= 1 ? 2 : 1) : 0;
      const woken = at - plugged > 7 * 60 || (at - plugged > 45 && seated[at] === 1);
      if (woken || away[at] !== 0) plugged = -1;
    }
    const handOff = byHand[at] ?? 0;
    const flat: boolean = stored <= 0 || (!wasOn && isFlatCause(lastOff) && stored < 0.03);
    const on: boolean = handOff === 0 && !flat;
    if (on) {
      stored = Math.max(0, stored - 1 / (endurance * share));
      soundStored = Math.max(0, soundStored - 1 / endurance);
      if (!wasOn)
        boots.push({ boot: boots.length + 1, at, reset: resetOf(draws, world, lastOff, wasByHand) });
      life.on[at] = 1;
      life.boot[at] = boots.length;
      life.cell[at] = cellOf(draws, world, stored, life.power[at] !== 0);
      lastOff = "none";
    } else {
      if (wasOn && handOff === 0 && tellsCutOff) cutOffs.push(at - 1);
      if (lastOff === "none" || handOff !== 0)
        lastOff =
          handOff !== 0
            ? (gapTruths[handOff] ?? "none")
            : flatCause(troubles, share, soundStored, away[at] ?? 0);
      wasByHand = handOff !== 0;
      life.offCause[at] = codeOf(away[at] !== 0 ? (gapTruths[away[at] ?? 0] ?? "away") : lastOff);
    }
    wasOn = on;
  }
  return { ...life, boots, cutOffs };
}

const isFlatCause = (cause: GapTruth): boolean =>
  cause === "battery-worn" || cause === "not-charged" || cause === "charging" || cause === "away";

function flatCause(troubles: Troubles, share: number, sound: number, away: number): GapTruth {
  if (away !== 0) return gapTruths[away] ?? "away";
  if (troubles.chargerFault && sound > 0.02) return "charging";
  return share < 0.8 && sound > 0.02 ? "battery-worn" : "not-charged";
}

function capacityAt({ fadesFrom, fadesTo, mendedAt }: Troubles, at: number): number {
  if (fadesFrom === null || at < fadesFrom || at >= mendedAt) return 1;
  return Math.max(fadesTo, 1 - (at - fadesFrom) / (40 * 1440));
}

/** Minutes at which somebody plugs it in, one a day at most. */
const chargeStarts = (draws: Draws, person: Person, days: number): number[] =>
  Array.from({ length: days }, (_, day) =>
    draws.is(person.chargesNightly) ? Math.floor(day * 1440 + person.toBed + draws.between(5, 60)) : -1,
  );

/** An invented curve with a knee, not the console's. */
function cellOf(draws: Draws, world: World, stored: number, charging: boolean): number {
  const rest = 3_180 + 700 * stored ** 0.45 + 270 * stored ** 2;
  return Math.round(rest + world.cellOffset + (charging ? 70 : 0) + draws.normal(0, 12));
}

/** A cell that ran flat sags at the start; one that was switched off with charge in it does not. */
function resetOf(draws: Draws, world: World, cause: GapTruth, byHand: boolean): ResetReason {
  if (draws.is(world.silentRestarts)) return "unknown";
  if (cause === "electronics") return draws.one("watchdog", "watchdog", "watchdog", "brown-out", "power-on");
  if (byHand) return draws.one("user-off", "user-off", "user-off", "user-off", "power-on");
  return draws.one("brown-out", "brown-out", "power-on");
}

/** Each minute's cause; where two overlap, the later in the list. */
export function paint(length: number, episodes: readonly Episode[]): Uint8Array {
  const painted = new Uint8Array(length);
  for (const { from, to, cause } of episodes)
    painted.fill(codeOf(cause), Math.max(0, Math.floor(from)), Math.max(0, Math.min(length, Math.floor(to))));
  return painted;
}
