import { gapCauses, thinCauses } from "../../../server/domain/verdicts/causes.ts";
import type { Side } from "../../../server/domain/verdicts/verdict.ts";

/** What the simulator knows to have been the reason of a missing minute. */
export const gapTruths = [
  "none",
  "battery-worn",
  "electronics",
  "charging",
  "not-charged",
  "switched-off",
  "out-of-reach",
  "home-link",
  "area-outage",
  "programme-link",
  "certificate",
  "away",
  "chose-to-stop",
] as const;
export type GapTruth = (typeof gapTruths)[number];

export const thinTruths = [
  "ordinary",
  "fewer-done",
  "prompts-fading",
  "line-dead",
  "drift",
  "unseen-method",
  "insert-moved",
  "other-seat",
  "rules-changed",
] as const;
export type ThinTruth = (typeof thinTruths)[number];

export function sideOf(truth: GapTruth | ThinTruth): Side {
  if (truth === "none") return "device";
  const cause = [...gapCauses, ...thinCauses].find(({ id }) => id === truth);
  if (!cause) throw new Error(`no cause ${truth}`);
  return cause.side;
}
