/** Chance that |t| exceeds `t` with `df` degrees of freedom, by the regularised incomplete beta function.
 *  Source: Abramowitz and Stegun 1964, 26.7.1 and 26.5.8 (continued fraction) */
function twoSidedTail(t: number, df: number): number {
  return incompleteBeta(df / (df + t * t), df / 2, 0.5);
}

/** The t that |t| stays below with chance `level`: 1.714 for 0.9 and 23 degrees of freedom. */
export function twoSidedStudent(level: number, df: number): number {
  let low = 0;
  let high = 1_000;
  for (let halving = 0; halving < 60; halving++) {
    const middle = (low + high) / 2;
    if (twoSidedTail(middle, df) > 1 - level) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

function incompleteBeta(x: number, a: number, b: number): number {
  if (x <= 0) return 0;
  if (x >= 1) return 1;
  if (x > (a + 1) / (a + b + 2)) return 1 - incompleteBeta(1 - x, b, a);
  const front = Math.exp(logGamma(a + b) - logGamma(a) - logGamma(b) + a * Math.log(x) + b * Math.log(1 - x));
  let fraction = 1;
  for (let m = 60; m >= 1; m--) {
    const even = (m * (b - m) * x) / ((a + 2 * m - 1) * (a + 2 * m));
    const odd = (-(a + m - 1) * (a + b + m - 1) * x) / ((a + 2 * m - 2) * (a + 2 * m - 1));
    fraction = 1 + odd / (1 + even / fraction);
  }
  return front / (a * fraction);
}

/** Stirling's series after shifting up: Abramowitz and Stegun 6.1.41. */
function logGamma(value: number): number {
  let shift = 0;
  let z = value;
  while (z < 8) {
    shift -= Math.log(z);
    z += 1;
  }
  const series = 1 / (12 * z) - 1 / (360 * z ** 3) + 1 / (1260 * z ** 5);
  return shift + (z - 0.5) * Math.log(z) - z + 0.5 * Math.log(2 * Math.PI) + series;
}
