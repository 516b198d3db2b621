import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";

/** Looked through at a time, so that messages that come in meanwhile have their turn. */
const atATime = 200;

/** Takes in what a newer unit once said that nobody here could read, and an upgrade now can (FP-13.3). Doing it twice
 *  takes nothing in twice: each message goes through the same append as one that comes in, under its own name and with
 *  the time it first reached us, and is let go of only once it is seen in the record. Stopped half way, the next start
 *  goes on.
 *  @returns how many were taken in */
export async function readAsideAgain({ telemetry, db, clock, log }: Services): Promise<number> {
  let taken = 0;
  const units = new Set<string>();
  for (let after: number | null = 0; after !== null; ) {
    const { readable, lookedThrough } = await telemetry.asideNowReadable(after, atATime);
    if (readable.length > 0) {
      await telemetry.append(readable.map(({ incoming }) => incoming));
      taken += await telemetry.dropAsideOnRecord(readable);
      for (const { incoming } of readable) units.add(incoming.unit);
    }
    after = lookedThrough;
    await new Promise((resolve) => setImmediate(resolve));
  }
  if (taken === 0) return 0;
  appendAudit(db, {
    at: clock.now(),
    actor: { kind: "system" },
    action: "read-kept-aside",
    subject: "telemetry",
    detail: { messages: taken, units: units.size },
  });
  log.info({ messages: taken, units: units.size }, "messages kept aside can be read now, and were taken in");
  return taken;
}
