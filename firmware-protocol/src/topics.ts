import type { DownlinkKind } from "./downlink.ts";
import type { UplinkKind } from "./messages.ts";

/** [FP-2.1] Everything of one unit lives under its own root, so that any broker can hold a unit to its own topics
 *  with a pattern on the certificate's common name. */
const version = "1";
const serialPattern = /^[A-Z0-9][A-Z0-9-]{2,31}$/;

export const uplinkKinds = [
  "hello",
  "minutes",
  "relief",
  "frame",
  "fault",
  "power",
  "relay",
  "self-test",
  "prompt",
  "notice",
  "result",
  "renewal",
] as const satisfies readonly UplinkKind[];
export const downlinkKinds = [
  "receipt",
  "plan",
  "command",
  "certificate",
] as const satisfies readonly DownlinkKind[];

export const isSerial = (text: string): boolean => serialPattern.test(text);
export const topicRoot = (unit: string): string => `cushion/${version}/${unit}`;
export const uplinkTopic = (unit: string, kind: UplinkKind): string => `${topicRoot(unit)}/up/${kind}`;
export const downlinkTopic = (unit: string, kind: DownlinkKind): string => `${topicRoot(unit)}/down/${kind}`;
export const downlinkFilter = (unit: string): string => `${topicRoot(unit)}/down/+`;

/** @returns the unit and kind an uplink topic names, or null for any other topic. */
export function readUplinkTopic(topic: string): { readonly unit: string; readonly kind: UplinkKind } | null {
  const [root, topicVersion, unit, direction, kind, ...rest] = topic.split("/");
  if (root !== "cushion" || topicVersion !== version || direction !== "up" || rest.length > 0) return null;
  if (unit === undefined || !isSerial(unit)) return null;
  const known = uplinkKinds.find((name) => name === kind);
  return known === undefined ? null : { unit, kind: known };
}
