type Accepted<Outcome> = Exclude<Outcome, { readonly kind: "refused" }>;

/** A step of the story that the programme's own rules refuse is a mistake in the story. */
export function done<Outcome extends { readonly kind: string }>(outcome: Outcome): Accepted<Outcome> {
  if (isAccepted(outcome)) return outcome;
  throw new Error(`The programme refuses: ${JSON.stringify(outcome)}`);
}

const isAccepted = <Outcome extends { readonly kind: string }>(
  outcome: Outcome,
): outcome is Outcome & Accepted<Outcome> => outcome.kind !== "refused";
