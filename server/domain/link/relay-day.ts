import type { RecordedGreeting, RelayHeartbeat } from "../record/told-events.ts";
import { type Instant, millisecondsIn } from "../units.ts";

/** What one day says of the relays a unit reported through, and of how often it came back. */
export interface RelayDay {
  readonly relays: readonly { readonly name: string; readonly first: Instant; readonly last: Instant }[];
  /** From one relay to another within the day. */
  readonly changes: number;
  /** Times a relay had been off, by its own uptime. */
  readonly relayStarts: number;
  /** Times a relay said that it had lost its own link. */
  readonly linkLost: number;
  /** Times the unit said it was in touch again, without having restarted. */
  readonly backInTouch: number;
}

/** Told to the second and rounded twice: a minute apart is the same start. */
const sameStart = millisecondsIn.minute;

/** @param heartbeats of one day, oldest first, as are `greetings` */
export function relayDay(
  heartbeats: readonly RelayHeartbeat[],
  greetings: readonly RecordedGreeting[],
): RelayDay {
  const relays = new Map<string, { name: string; first: Instant; last: Instant }>();
  let changes = 0;
  let relayStarts = 0;
  let linkLost = 0;
  heartbeats.forEach(({ at, relay, link, relayStartedAt }, index) => {
    const known = relays.get(relay);
    relays.set(relay, { name: relay, first: known?.first ?? at, last: at });
    const before = heartbeats[index - 1];
    if (before === undefined) return;
    if (before.relay !== relay) {
      changes++;
      return;
    }
    if (before.link === "up" && link === "down") linkLost++;
    const startedAnew =
      relayStartedAt !== null &&
      before.relayStartedAt !== null &&
      relayStartedAt > before.relayStartedAt + sameStart;
    if (startedAnew) relayStarts++;
  });
  const backInTouch = greetings.filter(({ sequence }) => sequence !== 0).length;
  return { relays: [...relays.values()], changes, relayStarts, linkLost, backInTouch };
}

/** The same of many days. */
export interface RelayHistory {
  /** In the order in which they were first heard. */
  readonly relays: readonly { readonly name: string; readonly first: Instant; readonly last: Instant }[];
  readonly changes: number;
  readonly relayStarts: number;
  readonly linkLost: number;
  readonly backInTouch: number;
  /** Most of `backInTouch` in one day, and when that day began; null: never. */
  readonly busiest: { readonly start: Instant; readonly times: number } | null;
}

/** @param days oldest first */
export function relayHistory(
  days: readonly { readonly start: Instant; readonly relay: RelayDay }[],
): RelayHistory {
  const relays = new Map<string, { name: string; first: Instant; last: Instant }>();
  let changes = 0;
  let lastName: string | null = null;
  let busiest: RelayHistory["busiest"] = null;
  for (const { start, relay } of days) {
    for (const { name, first, last } of relay.relays)
      relays.set(name, { name, first: relays.get(name)?.first ?? first, last });
    const [opening] = relay.relays;
    if (opening && lastName !== null && opening.name !== lastName) changes++;
    lastName = [...relay.relays].sort((a, b) => a.last - b.last).at(-1)?.name ?? lastName;
    changes += relay.changes;
    if (relay.backInTouch > (busiest?.times ?? 0)) busiest = { start, times: relay.backInTouch };
  }
  const sumOf = (of: (day: RelayDay) => number): number =>
    days.reduce((sum, { relay }) => sum + of(relay), 0);
  return {
    relays: [...relays.values()],
    changes,
    relayStarts: sumOf((day) => day.relayStarts),
    linkLost: sumOf((day) => day.linkLost),
    backInTouch: sumOf((day) => day.backInTouch),
    busiest,
  };
}
