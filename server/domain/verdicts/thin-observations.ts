import type { LeanDirection } from "../condition/condition.ts";
import type { ReliefKind } from "../record/unit-record.ts";
import type { ZoneName } from "../time/local-day.ts";
import type { thinLikelihoods } from "./likelihoods.ts";
import type { Observation } from "./observation.ts";
import { prompts } from "./prompts-clue.ts";
import { isLower } from "./shares-differ.ts";
import { spokenMoment } from "./spoken.ts";
import { stirs } from "./stirs-clue.ts";
import type { Eyes, Habit, KindCounts, ThinContext } from "./thin-context.ts";

type ThinClue = keyof typeof thinLikelihoods;
type Seen = Observation & { readonly clue: ThinClue };

const seen = (clue: ThinClue, values: readonly string[], sentence: string): Seen => ({
  clue,
  values,
  sentence,
});

/** Everything known of a thin stretch as clue values with their sentences; what is unknown is left out. */
export function thinObservations(context: ThinContext, zone: ZoneName): Observation[] {
  return [
    eyes(context),
    change(context),
    howLong(context),
    stirs(context),
    prompts(context),
    tries(context),
    load(context),
    note(context, zone),
    plan(context, zone),
  ].filter((one) => one !== null);
}

/** Which relief kinds fall when a direction can't be seen. */
const leanOf: Record<LeanDirection, ReliefKind> = {
  left: "lean-left",
  right: "lean-right",
  forward: "lean-forward",
};

/** Share of the person's own reliefs above which hiding it matters. Assumption. */
const usualShare = 0.2;

export function hidesUsual(hidden: readonly LeanDirection[], earlier: KindCounts | null): boolean {
  const total = sum(earlier);
  // With no earlier reliefs to go by, a hidden direction counts: the unit must not be trusted over the person.
  if (total === 0) return hidden.length > 0;
  return hidden.some((direction) => (earlier?.[leanOf[direction]] ?? 0) / total >= usualShare);
}

const sum = (counts: KindCounts | null): number =>
  Object.values(counts ?? {}).reduce((total, count) => total + (count ?? 0), 0);

function eyes({ eyes: clue, mix }: ThinContext): Seen | null {
  if (!clue) return null;
  if (clue.hidden === null) {
    const either = ["hides-usual", "dead-elsewhere"];
    return seen(
      "eyes",
      either,
      `Part of the grid was dead (${clue.deadLine ?? "place not known"}); what it hides is not worked out yet.`,
    );
  }
  const directions = clue.hidden.map((direction) => `${direction} leans`).join(" and ");
  if (clue.hidden.length > 0 && hidesUsual(clue.hidden, mix?.earlier ?? null)) {
    const line = clue.deadLine ? `, because part of the grid is dead (${clue.deadLine})` : "";
    return seen(
      "eyes",
      ["hides-usual"],
      `This unit could not have seen most ${directions} at the time${line}.`,
    );
  }
  if (clue.insertOff)
    return seen(
      "eyes",
      ["insert-off"],
      "By its own pictures the insert lay turned, shifted or folded at the time.",
    );
  if (clue.drifted) return seen("eyes", ["drift"], "The sensor's readings were off at the time.");
  return otherEyes(clue, directions);
}

function otherEyes(clue: Eyes, directions: string): Seen {
  if (clue.deadLine || directions !== "") {
    const hidden = directions === "" ? "" : ` It hides ${directions}, which they seldom use.`;
    return seen(
      "eyes",
      ["dead-elsewhere"],
      `Part of the grid was dead (${clue.deadLine ?? "place not known"}).${hidden}`,
    );
  }
  return seen("eyes", ["sound"], "The grid was sound: it could have seen leans to both sides.");
}

const kindWords: Record<ReliefKind, string> = {
  lift: "lifts",
  "lean-left": "left leans",
  "lean-right": "right leans",
  "lean-forward": "forward leans",
  tilt: "tilts",
};

/** Fewer earlier days or due reliefs than this are no habit yet. Assumption. */
const fewestDays = 4;
const fewestDue = 12;

function change({ habit, mix }: ThinContext): Seen | null {
  if (!habit || habit.earlier.days < fewestDays || habit.earlier.due < fewestDue || habit.lately.due === 0)
    return null;
  const earlier = habit.earlier.met / habit.earlier.due;
  const lately = habit.lately.met / habit.lately.due;
  const told = `Earlier, over ${habit.earlier.days} days, ${habit.earlier.met} of ${habit.earlier.due} due reliefs were recorded; in the days around this, ${habit.lately.met} of ${habit.lately.due}`;
  if (!isLower(habit.earlier, habit.lately)) {
    // A change that has lasted longer than the earlier days is no habit: of which kind it was is not looked up.
    if (habit.longAgo && isLower(habit.longAgo, habit.lately)) {
      const { met, due, days } = habit.longAgo;
      return seen(
        "change",
        ["dropped-one-direction", "dropped-swapped", "dropped-all"],
        `${told}: about as in the fortnight before, but in the ${days} days seen before that it was ${met} of ${due}.`,
      );
    }
    return earlier < 0.35
      ? seen("change", ["usually-few"], `${told}: about as before.`)
      : seen("change", ["isolated"], `${told}: this stretch stands alone.`);
  }
  const gone = mix ? vanished(mix.earlier, mix.lately, habit) : null;
  if (!gone) {
    const drops = ["dropped-one-direction", "dropped-swapped", "dropped-all"];
    return seen("change", drops, `${told}: fewer than before (${percent(earlier)}, now ${percent(lately)}).`);
  }
  return seen("change", [gone.value], `${told}: fewer than before. ${gone.sentence}`);
}

function vanished(
  earlier: KindCounts,
  lately: KindCounts,
  habit: Habit,
): { value: string; sentence: string } | null {
  const total = sum(earlier);
  if (total < 10) return null;
  const share = (kind: ReliefKind, counts: KindCounts, of: number) =>
    of === 0 ? 0 : (counts[kind] ?? 0) / of;
  const usual = Object.keys(kindWords).filter((kind): kind is ReliefKind =>
    isKind(kind) ? share(kind, earlier, total) >= usualShare : false,
  );
  const recent = sum(lately);
  const gone = usual.filter((kind) => share(kind, lately, recent) < share(kind, earlier, total) / 4);
  const words = gone.map((kind) => kindWords[kind]).join(" and ");
  if (gone.length === 1 && recent > 0) {
    const mirrored = gone[0] === "lean-left" ? "lean-right" : gone[0] === "lean-right" ? "lean-left" : null;
    // Taken over by the other side: as many a day as the vanished kind had, or half of it; a larger share of what
    // little is left is no swap.
    const daily = (kind: ReliefKind, counts: KindCounts, days: number) => (counts[kind] ?? 0) / days;
    const was = gone.reduce((sum, kind) => sum + daily(kind, earlier, habit.earlier.days), 0);
    const swapped =
      mirrored !== null &&
      daily(mirrored, earlier, habit.earlier.days) < was / 4 &&
      daily(mirrored, lately, habit.lately.days) >= was / 2;
    if (swapped && mirrored) {
      return {
        value: "dropped-swapped",
        sentence: `Hardly any ${words}, and ${kindWords[mirrored]} instead.`,
      };
    }
    return {
      value: "dropped-one-direction",
      sentence: `Hardly any ${words} were recorded; other kinds went on.`,
    };
  }
  return { value: "dropped-all", sentence: "No single kind vanished; all became fewer." };
}

const isKind = (text: string): text is ReliefKind => text in kindWords;

const howLong = ({ due }: ThinContext): Seen =>
  seen("how-long", [due <= 3 ? "three" : "more"], `${due} reliefs fell due in it.`);

function tries({ tries: clue, due }: ThinContext): Seen | null {
  if (clue === null) return null;
  const { count, countedBefore } = clue;
  if (count === 0) return seen("tries", ["none"], "No short or broken-off relief was recorded in it.");
  const told = `${count} short or broken-off ${count === 1 ? "relief was" : "reliefs were"} recorded in it`;
  // One due in three answered is no thin stretch any more. Assumption.
  return countedBefore * 3 >= due && countedBefore > 0
    ? seen(
        "tries",
        ["counted-before"],
        `${told}, of which ${countedBefore} would have counted under the plan before.`,
      )
    : seen("tries", ["some"], `${told}.`);
}

function load({ load: clue }: ThinContext): Seen | null {
  if (!clue) return null;
  if (clue.turned)
    return seen("load", ["turned"], "The load lay on the other side of the seat than in earlier days.");
  const off = Math.abs(clue.ratio - 1) >= 0.2;
  return off
    ? seen("load", ["different"], `The load was ${percent(clue.ratio)} of what this cushion usually carries.`)
    : seen("load", ["same"], "The load and where it lay were as usual for them.");
}

function note({ note: clue }: ThinContext, zone: ZoneName): Seen | null {
  if (clue === "none") return seen("note", ["none"], "No note on the loan falls in the days before.");
  const words = { "washed-cover": "a washed cover", "new-chair": "a new chair", visit: "a visit" };
  if (clue.kind === "hospital" || clue.kind === "holiday") return null;
  return seen(
    "note",
    [clue.kind],
    `The loan has a note of ${words[clue.kind]} from ${spokenMoment(clue.from, zone)}.`,
  );
}

function plan({ planChangedAt }: ThinContext, zone: ZoneName): Seen {
  return planChangedAt === null
    ? seen("plan", ["same"], "The relief plan had not changed in the four weeks before.")
    : seen(
        "plan",
        ["changed"],
        `A new version of the relief plan began at ${spokenMoment(planChangedAt, zone)}.`,
      );
}

const percent = (share: number): string => `${Math.round(share * 100)} %`;
