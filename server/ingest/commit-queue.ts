import type { UnitSerial } from "../domain/ids.ts";

/** `live`: of now. `backlog`: of the past, or of a unit that sends more than it should. */
export type Urgency = "live" | "backlog";

/** What is taken of one unit's backlog before it is the next one's turn. */
const turn = 8;
/** Of each group, while there is a backlog: so that it moves on, however much is live. */
const backlogShare = 0.1;

/** Messages that wait for a commit. What is live goes first; of the backlog each unit has its turn, so that one with a
 *  month to tell holds up nobody. */
export class CommitQueue<Item extends { readonly unit: UnitSerial; readonly urgency: Urgency }> {
  #live: Item[] = [];
  /** By unit, in the order of their turns. */
  readonly #backlog = new Map<UnitSerial, Item[]>();
  #backlogLength = 0;

  get live(): number {
    return this.#live.length;
  }

  get backlog(): number {
    return this.#backlogLength;
  }

  get length(): number {
    return this.#live.length + this.#backlogLength;
  }

  add(item: Item): void {
    if (item.urgency === "live") {
      this.#live.push(item);
      return;
    }
    this.#backlogLength += 1;
    const ofUnit = this.#backlog.get(item.unit);
    if (ofUnit === undefined) this.#backlog.set(item.unit, [item]);
    else ofUnit.push(item);
  }

  take(most: number): Item[] {
    const kept = Math.min(this.#backlogLength, Math.ceil(most * backlogShare));
    const group = this.#live.splice(0, most - kept);
    while (group.length < most && this.#backlogLength > 0) this.#takeTurn(group, most);
    return group;
  }

  #takeTurn(group: Item[], most: number): void {
    for (const [unit, items] of this.#backlog) {
      const taken = items.splice(0, Math.min(turn, most - group.length));
      group.push(...taken);
      this.#backlogLength -= taken.length;
      this.#backlog.delete(unit);
      // To the end of the line.
      if (items.length > 0) this.#backlog.set(unit, items);
      return;
    }
  }
}
