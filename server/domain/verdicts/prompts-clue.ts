import type { thinLikelihoods } from "./likelihoods.ts";
import type { Observation } from "./observation.ts";
import type { ThinContext } from "./thin-context.ts";

type PromptsSeen = Observation & { readonly clue: keyof typeof thinLikelihoods };
type Value = keyof typeof thinLikelihoods.prompts.values;

const seen = (value: Value, sentence: string): PromptsSeen => ({
  clue: "prompts",
  values: [value],
  sentence,
});

/** Whether a prompt leads to a relief as it did before. A prompt that was not given can't be followed: where the unit
 *  tells how many it gave, it is their share that counts, and where it gave far fewer nothing is said. */
export function prompts({ prompts: clue }: ThinContext): PromptsSeen | null {
  if (!clue || clue.earlierPrompted < 1) return null;
  const { given } = clue;
  if (given && given.lately.given < given.earlier.given / 2) return null;
  const fell = given
    ? given.lately.followed / given.lately.given < given.earlier.followed / given.earlier.given / 2
    : clue.latelyPrompted < clue.earlierPrompted / 2;
  const restHeld = clue.latelyUnprompted >= clue.earlierUnprompted * 0.7;
  // Where both fell it is the same drop that `change` tells of: not counted twice.
  if (fell && !restHeld) return null;
  const daily = given
    ? `A relief followed ${aDay(given.earlier)} before, ${aDay(given.lately)} lately`
    : `${clue.earlierPrompted.toFixed(1)} reliefs a day followed a prompt before, ${clue.latelyPrompted.toFixed(1)} lately`;
  return fell ? seen("fading", `${daily}, while unprompted ones held.`) : seen("holding", `${daily}.`);
}

const aDay = ({ given, followed }: { readonly given: number; readonly followed: number }): string =>
  `${followed.toFixed(1)} of ${given.toFixed(1)} prompts a day`;
