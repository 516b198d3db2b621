import { entriesWithin } from "../record/entries-within.ts";
import type { UnitRecord } from "../record/unit-record.ts";
import type { Span } from "../units.ts";

/** The part of a record that happened within `span`; its holes are left out.
 *  @param record sorted by time; @returns null where nothing did */
export function recordWithin(record: UnitRecord, span: Span): UnitRecord | null {
  const part: UnitRecord = {
    minutes: entriesWithin(record.minutes, span),
    reliefs: entriesWithin(record.reliefs, span),
    frames: entriesWithin(record.frames, span),
    boots: entriesWithin(record.boots, span),
    faults: entriesWithin(record.faults, span),
    powerEvents: entriesWithin(record.powerEvents, span),
    relayHeartbeats: entriesWithin(record.relayHeartbeats, span),
    selfTests: entriesWithin(record.selfTests, span),
    prompts: entriesWithin(record.prompts, span),
    storeOverruns: entriesWithin(record.storeOverruns, span),
    greetings: entriesWithin(record.greetings, span),
    notices: entriesWithin(record.notices, span),
    commandResults: entriesWithin(record.commandResults, span),
    renewals: entriesWithin(record.renewals, span),
    holes: [],
  };
  return Object.values(part).every((list) => list.length === 0) ? null : part;
}
