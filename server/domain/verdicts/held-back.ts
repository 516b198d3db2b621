import type { Observation } from "./observation.ts";
import type { StretchKind } from "./verdict.ts";

/** Why a stretch is not put down to the person, however likely that is: what the unit could see is in doubt, and likely is
 *  not enough where the cushion may be what is wrong. The likelihoods can't say it by themselves: they weigh a fault by
 *  how often it is there, and a fault that is known to be there stands beside most reliefs that really weren't made.
 *  - A thin stretch while the grid wasn't known to be sound: a finding was open, or nobody had looked.
 *  - A thin stretch where few reliefs were ever counted, unless the load never once shifted and came back in it: a way of
 *    relief that this unit can't see looks the same on every day.
 *  @returns a sentence; null: nothing stands in the way */
export function heldBack(
  kind: StretchKind,
  observations: readonly Pick<Observation, "clue" | "values">[],
): string | null {
  if (kind === "gap") return null;
  const known = (clue: string) => {
    const values = observations.find((one) => one.clue === clue)?.values;
    return values?.length === 1 ? values[0] : undefined;
  };
  const eyes = observations.find(({ clue }) => clue === "eyes");
  if (!eyes)
    return "What the unit could see at the time has not been looked at, so nothing is put down to the person.";
  if (known("eyes") !== "sound")
    return "The grid was not sound at the time, so nothing is put down to the person until the unit has been seen to.";
  if (known("change") === "usually-few" && known("stirs") !== "0")
    return "Few reliefs were ever counted here, and a way of relief that this unit can’t see would look the same, so nothing is put down to the person.";
  return null;
}
