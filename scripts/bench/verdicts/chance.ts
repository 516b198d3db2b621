/** Chance with a seed: the same draws for the same seed, whatever else is drawn elsewhere.
 *  Source of the generator: mulberry32, public domain (from memory). */
export class Draws {
  #state: number;

  constructor(seed: number) {
    this.#state = seed >>> 0;
    // The first draws of neighbouring seeds are alike.
    for (let skipped = 0; skipped < 8; skipped += 1) this.share();
  }

  /** Uniform on [0, 1). */
  share(): number {
    this.#state = (this.#state + 0x6d2b79f5) >>> 0;
    let mixed = this.#state;
    mixed = Math.imul(mixed ^ (mixed >>> 15), mixed | 1);
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61);
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4_294_967_296;
  }

  is(probability: number): boolean {
    return this.share() < probability;
  }

  between(low: number, high: number): number {
    return low + (high - low) * this.share();
  }

  whole(low: number, high: number): number {
    return Math.floor(this.between(low, high + 1));
  }

  normal(mean: number, deviation: number): number {
    const radius = Math.sqrt(-2 * Math.log(1 - this.share()));
    return mean + deviation * radius * Math.cos(2 * Math.PI * this.share());
  }

  /** Log-normal by its median. */
  lengthy(median: number, spread: number): number {
    return median * Math.exp(this.normal(0, spread));
  }

  /** How many of something with a mean rate happen. */
  count(mean: number): number {
    let count = 0;
    for (let left = Math.exp(-mean), product = this.share(); product > left; product *= this.share())
      count += 1;
    return count;
  }

  one<Item>(first: Item, ...rest: readonly Item[]): Item {
    const index = Math.floor(this.share() * (rest.length + 1));
    return index === 0 ? first : (rest[index - 1] ?? first);
  }
}

/** A seed of its own for the `part`-th part of what has `seed`. */
export const seedOf = (seed: number, part: number): number =>
  (Math.imul(seed ^ 0x9e3779b9, 0x85ebca6b) ^ Math.imul(part + 1, 0xc2b2ae35)) >>> 0;
