import type { ZoneName } from "../time/local-day.ts";
import type { Instant, Span } from "../units.ts";
import type { Cause } from "./causes.ts";
import type { Decision } from "./decide.ts";
import {
  capitalised,
  spokenCertainty,
  spokenLength,
  spokenMoment,
  spokenSpan,
  spokenTime,
} from "./spoken.ts";
import type { Side, StretchKind } from "./verdict.ts";

export interface SentenceParts {
  readonly kind: StretchKind;
  readonly span: Span;
  readonly ongoing: boolean;
  readonly filledAt: Instant | null;
  /** Causes with their share, likeliest first. */
  readonly ranked: readonly Cause[];
  readonly decision: Decision;
  /** What the unit could not see at the time, e.g. "leans to the left"; thin stretches only. */
  readonly unseen: string | null;
}

export const sideWords: Readonly<Record<Side, string>> = {
  device: "device side",
  link: "link side",
  handling: "handling",
  person: "person side",
};

/** The one sentence of a verdict: what was or wasn't recorded, how sure, whose side, and the leading cause. It never
 *  says that anyone failed at anything. */
export function verdictSentence(parts: SentenceParts, zone: ZoneName): string {
  if (parts.filledAt !== null) {
    return `${capitalised(spokenSpan(parts.span, zone))} was recorded late: the link was down, nothing is missing. ${capitalised(spokenCertainty(parts.decision.probability, parts.decision.outcome !== "not-settled"))} ${sideWords[parts.decision.leadingSide]}.`;
  }
  return `${subject(parts, zone)}: ${finding(parts)}`;
}

/** A verdict is kept until something changes, and a stretch that goes on gets longer meanwhile: then only its beginning
 *  stays true. */
function subject({ kind, span, ongoing }: SentenceParts, zone: ZoneName): string {
  const length = spokenLength(span.end - span.start);
  if (kind === "gap") {
    return ongoing
      ? `No record since ${spokenMoment(span.start, zone)}`
      : `No record ${spokenSpan(span, zone)} (${length})`;
  }
  return ongoing
    ? `Seated since ${spokenTime(span.start, zone)} with no relief recorded`
    : `Seated ${spokenSpan(span, zone)} with no relief recorded (${length})`;
}

function finding({ decision, ranked, unseen }: SentenceParts): string {
  const certainty = spokenCertainty(decision.probability, decision.outcome !== "not-settled");
  const lead = ranked.find(({ side }) => side === decision.leadingSide);
  const words = lead?.id === "line-dead" && unseen ? `this unit could not have seen ${unseen}` : lead?.words;
  if (decision.outcome === "not-settled") {
    // At near-equal odds two explanations are named, so that the first is not taken for the answer.
    const other = ranked.find(({ side }) => side !== decision.leadingSide);
    return `${certainty}. It may be that ${words}${other ? `, or that ${other.words}` : ""}.`;
  }
  return `${certainty} ${sideWords[decision.leadingSide]}: ${words}.`;
}
