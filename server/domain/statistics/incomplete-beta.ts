/** Regularised incomplete beta function I_x(a, b).
 *  Source: Abramowitz and Stegun 1964, 26.5.8 (continued fraction) */
export function incompleteBeta(x: number, a: number, b: number): number {
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
