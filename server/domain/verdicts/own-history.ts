import type { Cause } from "./causes.ts";
import type { GapContext } from "./gap-context.ts";

/** The programme's starting shares count as much as so many silences of this home's own. Assumption. */
const sharesWeigh = 4;

/** How much likelier each cause is for what became of this loan's earlier silences: Dirichlet counts, the starting
 *  shares as prior, in three groups: the link, the person, all others. Nothing is ever counted towards the person, so
 *  that no history of silences can make them likelier.
 *  @param priors starting shares in catalogue order, adding up to 1
 *  @returns one factor a cause, to stand as a row of likelihoods
 *  Source: Gelman et al., Bayesian Data Analysis, 3rd ed., sec. 3.4 (multinomial with a Dirichlet prior; from memory) */
export function historyRow(
  { filled, others }: NonNullable<GapContext["history"]>,
  causes: readonly Cause[],
  priors: readonly number[],
): number[] {
  const shareOf = (is: (cause: Cause) => boolean) =>
    causes.reduce((sum, cause, index) => (is(cause) ? sum + (priors[index] ?? 0) : sum), 0);
  const whole = sharesWeigh + filled + others;
  const factor = (share: number, count: number) => (sharesWeigh * share + count) / (whole * share);
  const link = factor(shareOf(isLink), filled);
  const rest = factor(shareOf(isOther), others);
  return causes.map((cause) => (isLink(cause) ? link : isOther(cause) ? rest : sharesWeigh / whole));
}

const isLink = ({ side }: Cause): boolean => side === "link";
const isOther = ({ side }: Cause): boolean => side === "device" || side === "handling";
