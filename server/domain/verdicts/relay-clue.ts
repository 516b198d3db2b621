import type { ZoneName } from "../time/local-day.ts";
import type { GapContext } from "./gap-context.ts";
import type { gapLikelihoods } from "./gap-likelihoods.ts";
import type { Observation } from "./observation.ts";
import { spokenMoment } from "./spoken.ts";

type RelaySeen = Observation & { readonly clue: keyof typeof gapLikelihoods };

const seen = (value: keyof typeof gapLikelihoods.relay.values, sentence: string): RelaySeen => ({
  clue: "relay",
  values: [value],
  sentence,
});

/** What the relay told of itself around a gap, the plainest of it alone: a relay that started anew had been down too.
 *  @returns null where it told nothing; and where all that is known is that its link was up on return */
export function relay({ told }: GapContext, zone: ZoneName): RelaySeen | null {
  const said = told?.relay ?? null;
  if (!said) return null;
  if (said.saidDown || said.before === "down")
    return seen("said-down", "The relay itself said that its own link to the programme was down.");
  if (said.restartedAt !== null)
    return seen("restarted", `The relay itself started anew at ${spokenMoment(said.restartedAt, zone)}.`);
  if (said.changed) return seen("another", "The unit came back through another relay than before.");
  return said.before === "up" ? seen("up", "The relay's own link was up when it was last heard.") : null;
}
