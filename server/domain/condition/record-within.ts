import type { UnitRecord } from "../record/unit-record.ts";
import type { Instant, Span } from "../units.ts";

/** The part of a record that happened within `span`; its holes are left out.
 *  @param record sorted by time; @returns null where nothing did */
export function recordWithin(record: UnitRecord, span: Span): UnitRecord | null {
  const part: UnitRecord = {
    minutes: within(record.minutes, span),
    reliefs: within(record.reliefs, span),
    frames: within(record.frames, span),
    boots: within(record.boots, span),
    faults: within(record.faults, span),
    powerEvents: within(record.powerEvents, span),
    relayHeartbeats: within(record.relayHeartbeats, span),
    selfTests: within(record.selfTests, span),
    prompts: within(record.prompts, span),
    storeOverruns: within(record.storeOverruns, span),
    greetings: within(record.greetings, span),
    notices: within(record.notices, span),
    commandResults: within(record.commandResults, span),
    renewals: within(record.renewals, span),
    holes: [],
  };
  return Object.values(part).every((list) => list.length === 0) ? null : part;
}

function within<Item extends { readonly at: Instant }>(
  items: readonly Item[],
  { start, end }: Span,
): readonly Item[] {
  return items.slice(firstFrom(items, start), firstFrom(items, end));
}

/** Halving: a month holds 40,000 minutes. */
function firstFrom(items: readonly { readonly at: Instant }[], moment: Instant): number {
  let low = 0;
  let high = items.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if ((items[middle]?.at ?? moment) < moment) low = middle + 1;
    else high = middle;
  }
  return low;
}
