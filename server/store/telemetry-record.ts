import type { UplinkMessage } from "../../firmware-protocol/src/messages.ts";
import { type Instant, instant, type Seconds, seconds } from "../domain/units.ts";

/** The part of a boot's uptime a message tells of: from the first thing it records to the end of the last. */
export interface UptimeSpan {
  readonly from: Seconds;
  readonly to: Seconds;
}

export function uptimeSpanOf(message: UplinkMessage): UptimeSpan {
  switch (message.kind) {
    case "hello":
      return lasting(message.uptimeSeconds, 0);
    case "minutes":
      return lasting(message.firstUptimeSeconds, message.minutes.length * 60);
    case "relief":
      return lasting(message.startUptimeSeconds, message.holdSeconds);
    case "frame":
      return lasting(message.takenUptimeSeconds, 0);
    case "fault":
    case "power":
    case "self-test":
    case "result":
      return lasting(message.atUptimeSeconds, 0);
    case "relay":
      return lasting(message.heardUptimeSeconds, 0);
    case "prompt":
      return lasting(message.givenUptimeSeconds, 0);
    case "notice":
    case "renewal":
      return lasting(message.uptimeSeconds, 0);
  }
}

/** Where a message lies in true time once its boot's uptime zero is known. */
export function placed(message: UplinkMessage, bootedAt: Instant): { start: Instant; end: Instant } {
  const { from, to } = uptimeSpanOf(message);
  return { start: instant(bootedAt + from * 1_000), end: instant(bootedAt + to * 1_000) };
}

const lasting = (from: number, length: number): UptimeSpan => ({
  from: seconds(from),
  to: seconds(from + length),
});
