import type { DownlinkKind } from "../../firmware-protocol/src/downlink.ts";
import { downlinkFilter, downlinkKinds, downlinkTopic } from "../../firmware-protocol/src/topics.ts";
import type { UnitSerial } from "../domain/ids.ts";

/** What of its own downlink a filter asks for; empty when a unit may not subscribe to it at all. */
export function kindsAskedFor(unit: UnitSerial, filter: string): readonly DownlinkKind[] {
  if (filter === downlinkFilter(unit)) return downlinkKinds;
  return downlinkKinds.filter((kind) => filter === downlinkTopic(unit, kind));
}
