import type { RelayHeartbeat, ToldEvents } from "../record/told-events.ts";
import { type Instant, instant, millisecondsIn, type Span } from "../units.ts";

/** What the unit told of its surroundings and of itself on either side of a gap, and through it where late messages
 *  filled it. A part is null where nothing was told: older firmware tells nothing, which is no evidence either way. */
export interface ToldAround {
  /** The relay's own word, apart from the unit's. */
  readonly relay: {
    /** Last it said before the gap began, and first after its end; null: nothing near enough. */
    readonly before: RelayHeartbeat["link"] | null;
    readonly after: RelayHeartbeat["link"] | null;
    /** Within the gap it said that it couldn't reach the programme (only as the unit heard it). */
    readonly saidDown: boolean;
    /** When the relay itself started anew within the gap, by its own uptime. */
    readonly restartedAt: Instant | null;
    /** The unit came back through another relay. */
    readonly changed: boolean;
  } | null;
  /** The unit said that its cell was empty and that it would switch off. */
  readonly cutOffAt: Instant | null;
  /** How the last charge before the gap ended, where it said. */
  readonly lastCharge: { readonly at: Instant; readonly ended: "full" | "interrupted" } | null;
  /** Its first greeting after: what waited in its store then. */
  readonly onReturn: { readonly at: Instant; readonly queued: number } | null;
  /** Messages its store gave up, as it reported within a day after the gap's end. */
  readonly overrun: number;
  /** Prompts given within the gap, and those a relief followed: proof that the unit ran and asked. */
  readonly prompts: { readonly given: number; readonly followed: number };
}

const near = 2 * millisecondsIn.hour;

/** @param told covering at least the two hours around `span`; what lies further off is not looked at, save an overrun */
export function toldAround(told: ToldEvents, span: Span): ToldAround {
  const before = (at: Instant): boolean => at < span.start && at >= span.start - near;
  const after = (at: Instant): boolean => at >= span.end && at < span.end + near;
  const within = (at: Instant): boolean => at >= span.start && at < span.end;
  const cutOff = told.powerEvents.findLast(
    ({ event, at }) =>
      event === "cut-off" && at >= span.start - near && at <= span.start + 5 * millisecondsIn.minute,
  );
  const charge = told.powerEvents.findLast(({ at, ended }) => ended !== null && at < span.start);
  const greeting = told.greetings.find(({ at }) => after(at));
  const prompts = told.prompts.filter(({ at }) => within(at));
  return {
    relay: relayAround(told.relayHeartbeats, span, { before, within, after }),
    cutOffAt: cutOff?.at ?? null,
    lastCharge: charge?.ended ? { at: charge.at, ended: charge.ended } : null,
    onReturn: greeting ? { at: greeting.at, queued: greeting.queued } : null,
    overrun: told.storeOverruns
      .filter(({ at }) => at >= span.start && at < span.end + 24 * millisecondsIn.hour)
      .reduce((sum, { messages }) => sum + messages, 0),
    prompts: {
      given: prompts.length,
      followed: prompts.filter(({ followedBy }) => followedBy !== null).length,
    },
  };
}

type Side = (at: Instant) => boolean;

function relayAround(
  heartbeats: readonly RelayHeartbeat[],
  span: Span,
  { before, within, after }: { readonly before: Side; readonly within: Side; readonly after: Side },
): ToldAround["relay"] {
  const last = heartbeats.findLast(({ at }) => before(at));
  const first = heartbeats.find(({ at }) => after(at));
  const inside = heartbeats.filter(({ at }) => within(at));
  if (!last && !first && inside.length === 0) return null;
  // A start is told to the second, and rounded twice: a minute either way is the same start.
  const restart = [...inside, ...(first ? [first] : [])].find(
    ({ relayStartedAt }) =>
      relayStartedAt !== null &&
      relayStartedAt > span.start &&
      relayStartedAt <= span.end + millisecondsIn.minute,
  );
  return {
    before: last?.link ?? null,
    after: first?.link ?? null,
    saidDown: inside.some(({ link }) => link === "down"),
    restartedAt: restart?.relayStartedAt == null ? null : instant(restart.relayStartedAt),
    changed: last !== undefined && first !== undefined && last.relay !== first.relay,
  };
}
