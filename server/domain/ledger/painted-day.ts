import { firstMinuteFrom } from "../record/entries-within.ts";
import { type SeatMinutes, seatStates } from "../record/seat-minutes.ts";
import { type Instant, instant, millisecondsIn, type Span } from "../units.ts";
import { type LedgerRun, type MinuteState, minuteStates } from "./minute-state.ts";

const minute = millisecondsIn.minute;
const placeOf = (state: MinuteState): number => minuteStates.indexOf(state);
/** Places in `minuteStates` of what a seat minute can be, by its place in `seatStates`. */
const seatPlaces = Uint8Array.from(seatStates, placeOf);
const notTrusted = placeOf("not-trusted");

/** The minutes of a day, painted in layers: each knows better than those beneath it. A minute is painted by whatever
 *  covers its midpoint. */
export class PaintedDay {
  readonly #start: Instant;
  readonly #end: Instant;
  readonly #states: Uint8Array;

  constructor({ start, end }: Span) {
    this.#start = start;
    this.#end = end;
    this.#states = new Uint8Array(Math.ceil((end - start) / minute)).fill(placeOf("no-record"));
  }

  paint(span: { readonly start: number; readonly end: number }, state: MinuteState): void {
    this.#states.fill(placeOf(state), this.#slot(span.start), this.#slot(span.end));
  }

  /** A minute belongs to the record whose [at, at + 60 s) holds its midpoint. Minutes of a unit don't start on the wall
   *  clock's minute, and its clock runs a little fast or slow, so two records can leave a sliver of time between them:
   *  a sliver shorter than a minute is no missing minute, and goes to the record before it. Where two boots overlap,
   *  the record that started last is taken. */
  paintRecorded({ at, state }: SeatMinutes): void {
    const states = this.#states;
    const firstMiddle = this.#start + minute / 2;
    // One that started a minute and a sliver before the day can reach into it.
    for (let place = firstMinuteFrom(at, this.#start - 2 * minute); place < at.length; place++) {
      const from = at[place] ?? 0;
      if (from >= this.#end) return;
      const recordEnd = from + minute;
      const following = place + 1 < at.length ? (at[place + 1] ?? 0) : Number.POSITIVE_INFINITY;
      const until = following > recordEnd && following - recordEnd < minute ? following : recordEnd;
      const painted = seatPlaces[state[place] ?? 0] ?? 0;
      const last = Math.min(Math.ceil((until - firstMiddle) / minute), states.length);
      for (let slot = Math.max(0, Math.ceil((from - firstMiddle) / minute)); slot < last; slot++)
        states[slot] = painted;
    }
  }

  /** What was recorded in `span` is not to be trusted; what was not, is as it was. */
  doubt(span: Span): void {
    const end = this.#slot(span.end);
    for (let slot = this.#slot(span.start); slot < end; slot++)
      if (seatPlaces.includes(this.#states[slot] ?? notTrusted)) this.#states[slot] = notTrusted;
  }

  runs(): LedgerRun[] {
    const runs: LedgerRun[] = [];
    const states = this.#states;
    let from = 0;
    for (let slot = 1; slot <= states.length; slot++) {
      if (slot < states.length && states[slot] === states[from]) continue;
      const state = minuteStates[states[from] ?? -1];
      if (state !== undefined) runs.push({ state, start: this.#at(from), end: this.#at(slot) });
      from = slot;
    }
    return runs;
  }

  /** The first whose midpoint is not before `moment`. */
  #slot(moment: number): number {
    const slot = Math.ceil((moment - this.#start - minute / 2) / minute);
    return Math.min(Math.max(slot, 0), this.#states.length);
  }

  #at = (slot: number): Instant => instant(this.#start + slot * minute);
}
