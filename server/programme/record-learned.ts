import { newId } from "../chance.ts";
import { noteId, type StretchId } from "../domain/ids.ts";
import { type Refused, refused } from "../domain/lifecycle/refusal.ts";
import { catalogue } from "../domain/verdicts/causes.ts";
import type { Side } from "../domain/verdicts/verdict.ts";
import type { Services } from "../services.ts";
import { appendAudit } from "../store/audit.ts";
import { stretchForClinician } from "../store/clinic-stretches.ts";
import { insertLearned } from "../store/learned.ts";
import { cluesSeen, recordOutcome } from "./record-outcome.ts";
import type { StaffActor } from "./staff-actor.ts";

export interface RecordLearnedRequest {
  readonly stretch: StretchId;
  readonly agrees: boolean;
  /** Whose side it turned out to be, where that was learned. */
  readonly side: Side | null;
  /** And what made it so, where that was learned: its id in the catalogue. */
  readonly cause?: string | null;
  /** What was learned, or why they disagree. */
  readonly text: string;
}

/** Keeps what a clinician learned of a stretch, as they wrote it. No later computation changes or removes it: the
 *  computed verdict is shown beside it. */
export async function recordLearned(
  services: Services,
  actor: StaffActor,
  request: RecordLearnedRequest,
): Promise<
  { readonly kind: "recorded" } | Refused<"not-your-person" | "needs-a-reason" | "cause-of-another-side">
> {
  const clues = request.side === null ? [] : await cluesSeen(services, request.stretch);
  const outcome = services.db.transaction(
    (tx) => {
      const stretch = stretchForClinician(tx, actor.id, request.stretch);
      if (!stretch) return refused("not-your-person", "This stretch is not of a person on your list.");
      if (request.text.trim() === "") return refused("needs-a-reason", "Say in a sentence what you learned.");
      const cause = catalogue(stretch.kind).find(({ id }) => id === request.cause) ?? null;
      if (cause && request.side !== null && cause.side !== request.side)
        return refused(
          "cause-of-another-side",
          `That ${cause.words} is of another side than the one chosen.`,
        );
      const now = services.clock.now();
      const id = noteId(newId(services.chance, "learned"));
      insertLearned(tx, {
        id,
        stretchId: request.stretch,
        agrees: request.agrees,
        side: request.side,
        text: request.text.trim(),
        writtenBy: actor.id,
        writtenAt: now,
      });
      // A bare agreement teaches nothing: it may only repeat the verdict. What side it was has to be said.
      const side = request.side ?? cause?.side ?? null;
      if (side !== null)
        recordOutcome(services, tx, actor, {
          stretch: request.stretch,
          source: "clinician",
          side,
          cause: cause?.id ?? null,
          clues,
        });
      appendAudit(tx, {
        at: now,
        actor,
        action: "record-what-was-learned",
        subject: `stretch:${request.stretch}`,
        detail: { learned: id, agrees: request.agrees, side: request.side },
      });
      return { kind: "recorded", borrower: stretch.borrowerId } as const;
    },
    { behavior: "immediate" },
  );
  if (outcome.kind === "refused") return outcome;
  services.live.changed("clinic", `stretch:${request.stretch}`, `person:${outcome.borrower}`);
  return { kind: "recorded" };
}
