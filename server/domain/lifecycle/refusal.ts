/** A refusal is an answer, not a fault: it names the rule that refused, for tests and the audit, and says it in one
 *  sentence, for the person who asked. */
export interface Refused<Rule extends string = string> {
  readonly kind: "refused";
  readonly rule: Rule;
  readonly sentence: string;
}

export const refused = <Rule extends string>(rule: Rule, sentence: string): Refused<Rule> => ({
  kind: "refused",
  rule,
  sentence,
});
