/** One reading with the temperature it was taken at. */
export interface WarmReading {
  readonly day: number;
  readonly temperature: number;
  readonly level: number;
}

/** Squared degrees of spread below which a slope isn't believed: it is drawn towards none. Assumption. */
const leastSpread = 20;

/** Change of level a degree, from differences within days only, so that neither a season nor a drift is taken for
 *  warmth (the within estimator of any regression textbook), drawn towards zero where a day hardly warms.
 *  @param readings in any order */
export function slopePerDegree(readings: readonly WarmReading[]): number {
  const byDay = new Map<number, WarmReading[]>();
  for (const reading of readings) {
    const list = byDay.get(reading.day);
    if (list) list.push(reading);
    else byDay.set(reading.day, [reading]);
  }
  let together = 0;
  let spread = leastSpread;
  for (const list of byDay.values()) {
    const warmth = list.reduce((sum, { temperature }) => sum + temperature, 0) / list.length;
    const level = list.reduce((sum, reading) => sum + reading.level, 0) / list.length;
    for (const reading of list) {
      together += (reading.temperature - warmth) * (reading.level - level);
      spread += (reading.temperature - warmth) ** 2;
    }
  }
  return together / spread;
}
