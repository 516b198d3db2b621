/** Upper bounds in milliseconds; beyond the last there is no bound. */
export const ackBounds = [1, 2, 5, 10, 20, 50, 100, 200, 500, 1_000, 2_000, 5_000] as const;

/** How long messages waited from their arrival to the commit that let them be acknowledged. */
export class AckTimes {
  readonly #counts = new Array<number>(ackBounds.length + 1).fill(0);
  #sum = 0;

  add(milliseconds: number): void {
    let at = 0;
    while (milliseconds > (ackBounds[at] ?? Number.POSITIVE_INFINITY)) at += 1;
    this.#counts[at] = (this.#counts[at] ?? 0) + 1;
    this.#sum += milliseconds;
  }

  /** Counts up to each bound, the last one of all. */
  cumulative(): readonly number[] {
    let sum = 0;
    return this.#counts.map((count) => {
      sum += count;
      return sum;
    });
  }

  get sumMilliseconds(): number {
    return this.#sum;
  }
}
