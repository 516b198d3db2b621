/** What a sound cushion of a model reads on the bench; part of the model's description, so that a new model comes as
 *  data. Loads in kg, temperatures in °C, shares as fractions. */
export interface BenchTolerances {
  /** Sum over the grid for each kilogram. */
  readonly countsPerKilogram: number;
  /** Of one cell with nothing on it, counts. */
  readonly emptyLow: number;
  readonly emptyHigh: number;
  /** Of one cell under the even load, over the mean of all: below, it doesn't answer as it should. */
  readonly cellLow: number;
  readonly cellHigh: number;
  /** Error of a known load, share of it. */
  readonly loadError: number;
  /** Where a weight seems to lie, off where it lies, mm. */
  readonly placeError: number;
  /** Largest difference between falling and rising over the full load. */
  readonly hysteresis: number;
  /** Rise over the hold. */
  readonly creep: number;
  readonly holdMinutes: number;
  /** Change of gain for each °C. */
  readonly gainPerDegree: number;
  /** The second temperature lies at least this far from the first. */
  readonly temperatureStep: number;
  /** A line's spread over its mean while the cable is bent. */
  readonly flexSpread: number;
  /** Least shift of the centre of load in a lean, share of the half width or depth. */
  readonly leanShift: number;
  /** Of a rested cell. */
  readonly cellLowMillivolts: number;
  readonly cellHighMillivolts: number;
  readonly cellHighTemperature: number;
  /** Cells that may be masked, share of all; a whole line counts as its cells. */
  readonly maskedShare: number;
  /** How many readings are taken of each thing. */
  readonly repeats: number;
}

export type ToleranceName = keyof BenchTolerances;

export interface ToleranceDefinition {
  readonly meaning: string;
  readonly origin: string;
  /** A model's own number lies within these, both allowed. */
  readonly low: number;
  readonly high: number;
  readonly whole?: true;
}

const assumed = "assumption; common practice, no source";

/** For a model that says nothing else. Each is an assumption until its maker's figure replaces it. */
export const usualTolerances: BenchTolerances = {
  countsPerKilogram: 30,
  emptyLow: 1,
  emptyHigh: 20,
  cellLow: 0.6,
  cellHigh: 1.4,
  loadError: 0.12,
  placeError: 15,
  hysteresis: 0.12,
  creep: 0.1,
  holdMinutes: 5,
  gainPerDegree: 0.005,
  temperatureStep: 8,
  flexSpread: 0.15,
  leanShift: 0.1,
  cellLowMillivolts: 3_300,
  cellHighMillivolts: 4_250,
  cellHighTemperature: 45,
  maskedShare: 0.1,
  repeats: 4,
};

export const toleranceDefinitions: Readonly<Record<ToleranceName, ToleranceDefinition>> = {
  countsPerKilogram: {
    meaning: "Counts summed over the grid for each kilogram",
    origin: assumed,
    low: 0.1,
    high: 10_000,
  },
  emptyLow: { meaning: "Least empty reading of a cell, counts", origin: assumed, low: 0, high: 4_095 },
  emptyHigh: { meaning: "Greatest empty reading of a cell, counts", origin: assumed, low: 0, high: 4_095 },
  cellLow: {
    meaning: "Least answer of a cell to the even load, over the mean",
    origin: assumed,
    low: 0.05,
    high: 1,
  },
  cellHigh: {
    meaning: "Greatest answer of a cell to the even load, over the mean",
    origin: assumed,
    low: 1,
    high: 5,
  },
  loadError: { meaning: "Error of a known load, share of it", origin: assumed, low: 0.01, high: 0.5 },
  placeError: { meaning: "Error of the place of a known weight, mm", origin: assumed, low: 1, high: 100 },
  hysteresis: {
    meaning: "Falling less rising, share of the full load",
    origin: assumed,
    low: 0.01,
    high: 0.5,
  },
  creep: {
    meaning: "Rise over the hold, share",
    origin: "assumption: textile arrays creep a few to 20 % over half an hour or more (from memory)",
    low: 0.01,
    high: 0.5,
  },
  holdMinutes: { meaning: "Length of the hold, min", origin: assumed, low: 1, high: 60 },
  gainPerDegree: {
    meaning: "Change of gain for each °C, share",
    origin: "assumption: 0.1 to 0.5 % for each °C is usual for resistive textiles (from memory)",
    low: 0.0001,
    high: 0.05,
  },
  temperatureStep: {
    meaning: "Least distance of the two temperatures, °C",
    origin: assumed,
    low: 3,
    high: 30,
  },
  flexSpread: {
    meaning: "Spread of a line while its cable is bent, share",
    origin: assumed,
    low: 0.01,
    high: 1,
  },
  leanShift: {
    meaning: "Least shift of the centre of load in a lean, share of the half seat",
    origin: assumed,
    low: 0.01,
    high: 1,
  },
  cellLowMillivolts: {
    meaning: "Least voltage of the rested battery, mV",
    origin: assumed,
    low: 2_500,
    high: 4_300,
  },
  // A form must not be able to call a cell safe that no maker of lithium-ion cells would.
  cellHighMillivolts: {
    meaning: "Greatest voltage of the battery, mV",
    origin: assumed,
    low: 3_000,
    high: 4_400,
  },
  cellHighTemperature: {
    meaning: "Greatest temperature of the battery, °C",
    origin: assumed,
    low: 20,
    high: 60,
  },
  maskedShare: { meaning: "Cells that may be masked, share of all", origin: assumed, low: 0, high: 0.3 },
  repeats: { meaning: "Readings taken of each thing", origin: assumed, low: 3, high: 20, whole: true },
};

const inOrder: readonly (readonly [ToleranceName, ToleranceName])[] = [
  ["emptyLow", "emptyHigh"],
  ["cellLowMillivolts", "cellHighMillivolts"],
];

/** Limits that no reading could meet. @returns a sentence for each name concerned */
export function contradictionsIn(limits: BenchTolerances): Readonly<Partial<Record<ToleranceName, string>>> {
  return Object.fromEntries(
    inOrder
      .filter(([least, greatest]) => limits[least] >= limits[greatest])
      .map(([least, greatest]) => [greatest, `It must be above ${limits[least]}, the least.`]),
  );
}
