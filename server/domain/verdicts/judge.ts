import type { ZoneName } from "../time/local-day.ts";
import { between, probability } from "../units.ts";
import { type Cause, catalogue, gapCauses, type PriorTableName, priorsFor, priorTableFor } from "./causes.ts";
import { decide, sidesOf } from "./decide.ts";
import { evidenceFor } from "./evidence.ts";
import type { GapContext } from "./gap-context.ts";
import { gapLikelihoods } from "./gap-likelihoods.ts";
import { gapObservations } from "./gap-observations.ts";
import type { Thresholds } from "./harm.ts";
import { heldBack } from "./held-back.ts";
import { type ClueTable, likelihoodOf, thinLikelihoods } from "./likelihoods.ts";
import type { Observation } from "./observation.ts";
import { otherEvidence } from "./other-evidence.ts";
import { historyRow } from "./own-history.ts";
import { posterior } from "./posterior.ts";
import { rankTests } from "./settle.ts";
import { type TestDone, testedObservations } from "./tested-evidence.ts";
import type { ThinContext } from "./thin-context.ts";
import { thinObservations } from "./thin-observations.ts";
import type { StretchKind, Verdict } from "./verdict.ts";
import { type SentenceParts, verdictSentence } from "./verdict-sentence.ts";
import { whatWouldChange } from "./what-would-change.ts";

/** Where a verdict starts from: the documented shares, or those the programme has learned. They add up to 1. */
export type StartingShares = (table: PriorTableName) => readonly number[];

interface Terms {
  readonly thresholds: Thresholds;
  readonly zone: ZoneName;
  readonly startingShares: StartingShares;
}

/** Judges a gap from what is known of it. @param tests what was done to settle it, and what it showed */
export function judgeGap(
  context: GapContext,
  thresholds: Thresholds,
  zone: ZoneName,
  startingShares: StartingShares = priorsFor,
  tests: readonly TestDone[] = [],
): Verdict {
  const { span, ongoing, filledAt, history } = context;
  const tested = filledAt === null ? testedObservations("gap", tests, zone) : [];
  const observations = [
    // What the bench measured of the cell stands in place of what its record let guess: they speak of the same thing.
    ...gapObservations(context, zone).filter(
      ({ clue }) => clue !== "capacity" || !tested.some((one) => one.clue === "tested-bench"),
    ),
    ...tested,
  ];
  if (ongoing && history && history.filled + history.others > 0)
    observations.push(
      ownHistory(history, startingShares(priorTableFor("gap", between(span.start, span.end)))),
    );
  return judged("gap", { span, ongoing, filledAt, unseen: null }, observations, {
    thresholds,
    zone,
    startingShares,
  });
}

const ownHistory = (history: NonNullable<GapContext["history"]>, priors: readonly number[]): Observation => ({
  clue: "history",
  values: [],
  sentence: `Of ${history.filled + history.others} earlier silences here that lasted at least as long, ${history.filled} turned out to be recorded: what was missing came in later.`,
  row: historyRow(history, gapCauses, priors),
});

/** Judges a thin stretch from what is known of it. @param tests what was done to settle it, and what it showed */
export function judgeThin(
  context: ThinContext,
  thresholds: Thresholds,
  zone: ZoneName,
  startingShares: StartingShares = priorsFor,
  tests: readonly TestDone[] = [],
): Verdict {
  const unseen = context.eyes?.hidden?.map((direction) => leanWords[direction]).join(" and ") ?? "";
  const about = {
    span: context.span,
    ongoing: context.ongoing,
    filledAt: null,
    unseen: unseen === "" ? null : unseen,
  };
  const observations = [...thinObservations(context, zone), ...testedObservations("thin", tests, zone)];
  return judged("thin", about, observations, { thresholds, zone, startingShares });
}

const leanWords = {
  left: "leans to the left",
  right: "leans to the right",
  forward: "leans forward",
} as const;

type About = Pick<SentenceParts, "span" | "ongoing" | "filledAt" | "unseen">;

function judged(
  kind: StretchKind,
  about: About,
  observations: readonly Observation[],
  { thresholds, zone, startingShares }: Terms,
): Verdict {
  const causes = catalogue(kind);
  const priors = startingShares(priorTableFor(kind, between(about.span.start, about.span.end)));
  const likelihoods = observations.map(
    ({ clue, values, row }) => row ?? likelihoodOf(tableOf(kind, clue), values),
  );
  const shares = posterior(priors, likelihoods);
  const sides = sidesOf(causes, shares);
  const held = heldBack(kind, observations);
  const decision = decide(sides, thresholds, held !== null);
  const ranked = rankedCauses(causes, priors, shares);
  return {
    ...decision,
    causes: ranked.map(({ cause, prior, share }) => ({
      cause: cause.id,
      words: cause.words,
      side: cause.side,
      prior: probability(prior),
      probability: probability(share),
    })),
    evidence: evidenceFor(decision.leadingSide, causes, priors, observations, likelihoods),
    settle:
      about.filledAt === null
        ? rankTests(kind, about.ongoing, causes, shares, sides).filter(
            ({ test }) => !observations.some(({ clue }) => clue === `tested-${test}`),
          )
        : [],
    wouldChange: whatWouldChange(
      decision,
      { kind, causes, priors, observations, likelihoods, thresholds },
      otherEvidence(kind, about.ongoing, observations),
    ),
    ...(held !== null && decision.leadingSide === "person" ? { heldBack: held } : {}),
    sentence: verdictSentence({ kind, ...about, ranked: ranked.map(({ cause }) => cause), decision }, zone),
    span: about.span,
  };
}

function rankedCauses(causes: readonly Cause[], priors: readonly number[], shares: readonly number[]) {
  return causes
    .map((cause, index) => ({ cause, prior: priors[index] ?? 0, share: shares[index] ?? 0 }))
    .sort((a, b) => b.share - a.share);
}

function tableOf(kind: StretchKind, clue: string): ClueTable {
  const tables: Readonly<Record<string, ClueTable>> = kind === "gap" ? gapLikelihoods : thinLikelihoods;
  const table = tables[clue];
  if (!table) throw new Error(`no table for the clue ${clue}`);
  return table;
}
