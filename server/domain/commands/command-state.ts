import type { Instant } from "../units.ts";
import { type CommandAnswer, type CommandState, endingStates } from "./command.ts";

export interface CommandStanding {
  readonly state: CommandState;
  readonly expiresAt: Instant;
  readonly sentAt: Instant | null;
  readonly answer: CommandAnswer | null;
  readonly answeredAt: Instant | null;
}

export type CommandEvent =
  /** The unit acknowledged the command itself (FP-11.10). */
  | { readonly kind: "acknowledged"; readonly at: Instant }
  | { readonly kind: "answered"; readonly at: Instant; readonly answer: CommandAnswer }
  | { readonly kind: "time-passed"; readonly at: Instant };

const isEnding = (state: CommandState): boolean => endingStates.some((ending) => ending === state);

/** One step of a command's way. Repeated and late events change nothing, whatever the order they come in.
 *  @returns null where nothing changes */
export function commandStep(standing: CommandStanding, event: CommandEvent): CommandStanding | null {
  switch (event.kind) {
    case "acknowledged":
      if (standing.sentAt !== null) return null;
      // An answer may overtake the acknowledgement: it then only adds when.
      return {
        ...standing,
        sentAt: event.at,
        state: standing.state === "waiting" ? "sent" : standing.state,
      };
    case "time-passed":
      if (isEnding(standing.state) || event.at < standing.expiresAt) return null;
      return { ...standing, state: "expired" };
    case "answered":
      return answered(standing, event.at, event.answer);
  }
}

function answered(standing: CommandStanding, at: Instant, answer: CommandAnswer): CommandStanding | null {
  const had = standing.answer;
  // FP-11.3: a unit doesn't go from one ending state to another. The first stays.
  if (had !== null && isEnding(had.state)) return null;
  if (had !== null && answer.state === "accepted") return null;
  const kept = { ...standing, answer, answeredAt: at };
  // What expired stays expired: somebody may have acted on it. The late answer is kept beside it.
  return isEnding(standing.state) ? kept : { ...kept, state: answer.state };
}
