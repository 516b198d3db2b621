/** Exact posterior of a naive-Bayes model, in log space.
 *  @param priors one a cause, any positive scale
 *  @param likelihoods one row a clue: P(what was seen | cause), one number a cause, none of them 0
 *  @returns probabilities in the order of `priors`, adding up to 1
 *  Source: Mitchell 1997, Machine Learning, sec. 6.9; Jurafsky & Martin, Speech and Language Processing, ch. 4 */
export function posterior(priors: readonly number[], likelihoods: readonly (readonly number[])[]): number[] {
  // Sorted addition makes the result the same to the last digit whatever order the clues came in.
  const logs = priors.map((prior, cause) =>
    [Math.log(prior), ...likelihoods.map((row) => Math.log(row[cause] ?? Number.NaN))]
      .sort((a, b) => a - b)
      .reduce((sum, term) => sum + term, 0),
  );
  const highest = Math.max(...logs);
  const weights = logs.map((log) => Math.exp(log - highest));
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  return weights.map((weight) => weight / total);
}

/** Shannon entropy, bits. */
export function entropyBits(probabilities: readonly number[]): number {
  return probabilities.reduce((sum, p) => (p > 0 ? sum - p * Math.log2(p) : sum), 0);
}

/** Mutual information, bits, between a hidden thing and the outcome of a test: exact, by summing every pair.
 *  @param hidden P(h), adding up to 1
 *  @param outcomes one row an outcome: P(outcome | h); each column adds up to 1
 *  Source: Shannon 1948; Cover & Thomas, Elements of Information Theory, sec. 2.3 */
export function mutualInformationBits(
  hidden: readonly number[],
  outcomes: readonly (readonly number[])[],
): number {
  const conditional = outcomes.reduce((sum, row) => {
    const joint = hidden.map((p, index) => p * (row[index] ?? 0));
    const chance = joint.reduce((total, p) => total + p, 0);
    if (chance === 0) return sum;
    return sum + chance * entropyBits(joint.map((p) => p / chance));
  }, 0);
  return Math.max(0, entropyBits(hidden) - conditional);
}
