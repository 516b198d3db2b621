/** How much likelier k of n are under their own rate than under the background rate, natural log; 0 where the rate is
 *  not above the background.
 *  Source: Kulldorff 1997, A spatial scan statistic, Commun Stat Theory Methods 26:1481 (Bernoulli model, with the
 *  rate outside known) */
export function scanRatio(k: number, n: number, background: number): number {
  const rate = k / n;
  if (rate <= background) return 0;
  const missed = n - k;
  return (
    k * Math.log(rate / background) + (missed === 0 ? 0 : missed * Math.log((1 - rate) / (1 - background)))
  );
}

/** Natural log of P(at least k of n), each with probability p, by direct addition.
 *  Source: binomial distribution, e.g. NIST/SEMATECH e-Handbook 1.3.6.6.18 */
export function logBinomialTail(k: number, n: number, p: number): number {
  if (k <= 0) return 0;
  let logTerm = n * Math.log1p(-p);
  let sum = 0;
  let reference = Number.NEGATIVE_INFINITY;
  for (let i = 0; i <= n; i++) {
    if (i >= k) {
      if (reference === Number.NEGATIVE_INFINITY) reference = logTerm;
      const part = Math.exp(logTerm - reference);
      sum += part;
      if (part < 1e-15 * sum) break;
    }
    logTerm += Math.log((n - i) / (i + 1)) + Math.log(p / (1 - p));
  }
  return Math.min(0, reference + Math.log(sum));
}
