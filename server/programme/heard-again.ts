import type { UnitSerial } from "../domain/ids.ts";
import type { Instant } from "../domain/units.ts";
import type { Services } from "../services.ts";

/** When a unit that had fallen silent was heard again: when the first of what it recorded since came in, however much
 *  later anybody looks.
 *  @param recorded its newest record, later than `silentFrom`; the answer where none of its minutes is */
export async function heardAgain(
  { telemetry }: Services,
  { unitSerial, silentFrom }: { readonly unitSerial: UnitSerial; readonly silentFrom: Instant },
  recorded: Instant,
): Promise<Instant> {
  const { minutes } = await telemetry.read(unitSerial, { start: silentFrom, end: recorded });
  let first: Instant | null = null;
  for (const { at, receivedAt } of minutes)
    if (at > silentFrom && (first === null || receivedAt < first)) first = receivedAt;
  return first ?? recorded;
}
