/** Repeatable chance. Each purpose draws from its own named stream, so that what happens on one day or in one part
 *  doesn't depend on how often another part has drawn. */
export interface Random {
  /** Uniform in [0, 1). */
  next(): number;
  /** 32 uniform bits. */
  bits(): number;
  /** True with this probability. */
  chance(probability: number): boolean;
  uniform(low: number, high: number): number;
  normal(mean: number, deviation: number): number;
  /** Exponential with mean 1: shares of a whole are made by dividing several by their sum. */
  exponential(): number;
}

/** @param name anything that tells this stream from every other, e.g. `7/CU-000101/day/20412` */
export function randomFrom(name: string): Random {
  const bits = smallFastCounter(hashedState(name));
  const next = (): number => bits() / 0x1_0000_0000;
  return {
    next,
    bits,
    chance: (probability) => next() < probability,
    uniform: (low, high) => low + (high - low) * next(),
    // Box and Muller 1958; 1 - next() keeps the logarithm's argument above zero.
    normal: (mean, deviation) =>
      mean + deviation * Math.sqrt(-2 * Math.log(1 - next())) * Math.cos(2 * Math.PI * next()),
    exponential: () => -Math.log(1 - next()),
  };
}

/** sfc32, Chris Doty-Humphrey's "small fast counter" generator (PractRand, public domain), from memory. */
function smallFastCounter(state: Uint32Array): () => number {
  let a = state[0] ?? 0;
  let b = state[1] ?? 0;
  let c = state[2] ?? 0;
  let counter = 1;
  const step = (): number => {
    const result = (((a + b) | 0) + counter) | 0;
    counter = (counter + 1) | 0;
    a = b ^ (b >>> 9);
    b = (c + (c << 3)) | 0;
    c = ((c << 21) | (c >>> 11)) + result;
    c |= 0;
    return result >>> 0;
  };
  for (let warmUp = 0; warmUp < 12; warmUp += 1) step();
  return step;
}

/** Three words from a text: FNV-1a with three different bases. */
function hashedState(name: string): Uint32Array {
  const state = new Uint32Array([0x811c9dc5, 0x1b873593, 0xcc9e2d51]);
  for (let index = 0; index < name.length; index += 1) {
    const code = name.charCodeAt(index);
    for (let word = 0; word < 3; word += 1) {
      state[word] = Math.imul((state[word] ?? 0) ^ (code + word * 131), 0x01000193);
    }
  }
  return state;
}

/** @returns one of the keys, with probability in proportion to its weight. */
export function pickWeighted<Key extends string>(
  random: Random,
  weights: readonly (readonly [Key, number])[],
): Key | null {
  let total = 0;
  for (const [, weight] of weights) total += weight;
  let left = random.next() * total;
  for (const [key, weight] of weights) {
    left -= weight;
    if (left < 0 && weight > 0) return key;
  }
  return null;
}
