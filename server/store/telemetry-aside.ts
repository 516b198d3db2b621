import type { AsideNowReadable } from "./telemetry-port.ts";
import type { TelemetryTables } from "./telemetry-tables.ts";
import { triage } from "./telemetry-triage.ts";

/** Of the next `limit` messages kept aside, those that can be read by now. */
export function asideNowReadable(
  { statements }: TelemetryTables,
  after: number,
  limit: number,
): AsideNowReadable {
  const rows = statements.asideAfter.all(after, limit);
  const readable = rows
    .map(({ id, ...incoming }) => ({ id, incoming }))
    .filter(({ incoming }) => triage(incoming).kind === "readable");
  return { readable, lookedThrough: rows.length < limit ? null : (rows.at(-1)?.id ?? null) };
}

/** Lets go of what was kept aside and is part of the record now, byte for byte; call it after the append.
 *  @returns how many that were */
export function dropAsideOnRecord(
  { statements, blocks }: TelemetryTables,
  taken: AsideNowReadable["readable"],
): number {
  let dropped = 0;
  for (const { id, incoming } of taken) {
    const triaged = triage(incoming);
    if (triaged.kind !== "readable") continue;
    const { boot, sequence } = triaged.message;
    const stored =
      statements.payloadNamed.get(incoming.unit, boot, sequence) ??
      blocks.payloadNamed(incoming.unit, boot, sequence);
    if (stored === undefined || Buffer.compare(stored, incoming.payload) !== 0) continue;
    statements.dropAside.run(id);
    dropped += 1;
  }
  return dropped;
}
