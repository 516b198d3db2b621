import type { UnitRecord } from "../record/unit-record.ts";
import type { Instant, Span } from "../units.ts";

/** The part of a record that happened within `span`; its holes are left out.
 *  @param record sorted by time; @returns null where nothing did */
export function recordWithin(record: UnitRecord, span: Span): UnitRecord | null {
  const minutes = within(record.minutes, span);
  const reliefs = within(record.reliefs, span);
  const frames = within(record.frames, span);
  const boots = within(record.boots, span);
  const faults = within(record.faults, span);
  const all = minutes.length + reliefs.length + frames.length + boots.length + faults.length;
  return all === 0 ? null : { minutes, reliefs, frames, boots, faults, holes: [] };
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
