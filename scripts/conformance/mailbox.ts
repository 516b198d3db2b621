/** What has come in, and those who wait for it. */
export class Mailbox<Item> {
  readonly #items: Item[] = [];
  readonly #looking = new Set<() => void>();
  #ended = false;

  get hasEnded(): boolean {
    return this.#ended;
  }

  put(item: Item): void {
    this.#items.push(item);
    this.#look();
  }

  /** Nothing more will come. */
  end(): void {
    this.#ended = true;
    this.#look();
  }

  /** Takes the first that `wanted` picks, there already or yet to come.
   *  @returns null where none comes in time, or none can come any more */
  take<Wanted extends Item>(
    milliseconds: number,
    wanted: (item: Item) => item is Wanted,
  ): Promise<Wanted | null> {
    return this.until(milliseconds, () => {
      for (const [at, item] of this.#items.entries()) {
        if (!wanted(item)) continue;
        this.#items.splice(at, 1);
        return item;
      }
      return null;
    });
  }

  /** Asks anew at each arrival until the answer is not null. */
  until<T>(milliseconds: number, find: () => T | null): Promise<T | null> {
    return new Promise((resolve) => {
      const look = (): void => {
        const found = find();
        if (found !== null || this.#ended) finish(found);
      };
      const finish = (found: T | null): void => {
        clearTimeout(timer);
        this.#looking.delete(look);
        resolve(found);
      };
      const timer = setTimeout(() => finish(null), milliseconds);
      this.#looking.add(look);
      look();
    });
  }

  #look(): void {
    for (const look of [...this.#looking]) look();
  }
}
