/** How often a unit tells its minutes. */
export class ReportPace {
  /** The longest the protocol lets a unit wait that can reach its relay (FP-6.18). */
  #everyMinutes = 15;

  /** 1 while somebody is looking on. */
  every(minutes: number): void {
    this.#everyMinutes = minutes;
  }

  /** On the hour by the unit's own clock, so that a home's radio is quiet in between.
   *  @param wall seconds since 1970, null while its clock is not set */
  isDue(state: { pendingMinutes: number; inReach: boolean; wall: number | null }): boolean {
    // Out of reach nobody looks on, and the store has to last.
    const every = state.inReach ? this.#everyMinutes : 60;
    if (state.pendingMinutes >= every) return true;
    return every === 60 && state.wall !== null && Math.floor(state.wall / 60) % 60 === 0;
  }
}
