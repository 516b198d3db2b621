/** What one clue was seen to be. Several values: all that is known is that it is one of them. An unknown clue is no
 *  observation at all, so it changes nothing. */
export interface Observation {
  readonly clue: string;
  readonly values: readonly string[];
  /** What was seen, with its times and amounts, as a clinician reads it. */
  readonly sentence: string;
  /** Where how likely it is under each cause is counted for the one unit, and no table has it: one number a cause. */
  readonly row?: readonly number[];
  /** Where `row` is given: what might have been counted instead, for asking what would change the answer. */
  readonly others?: readonly {
    readonly value: string;
    readonly words: string;
    readonly row: readonly number[];
  }[];
}
