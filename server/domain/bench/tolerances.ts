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

export interface ToleranceOrigin {
  readonly meaning: string;
  readonly origin: string;
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

export const toleranceOrigins: Readonly<Record<keyof BenchTolerances, ToleranceOrigin>> = {
  countsPerKilogram: { meaning: "Counts summed over the grid for each kilogram", origin: assumed },
  emptyLow: { meaning: "Least empty reading of a cell, counts", origin: assumed },
  emptyHigh: { meaning: "Greatest empty reading of a cell, counts", origin: assumed },
  cellLow: { meaning: "Least answer of a cell to the even load, over the mean", origin: assumed },
  cellHigh: { meaning: "Greatest answer of a cell to the even load, over the mean", origin: assumed },
  loadError: { meaning: "Error of a known load, share of it", origin: assumed },
  placeError: { meaning: "Error of the place of a known weight, mm", origin: assumed },
  hysteresis: { meaning: "Falling less rising, share of the full load", origin: assumed },
  creep: {
    meaning: "Rise over the hold, share",
    origin: "assumption: textile arrays creep a few to 20 % over half an hour or more (from memory)",
  },
  holdMinutes: { meaning: "Length of the hold, min", origin: assumed },
  gainPerDegree: {
    meaning: "Change of gain for each °C, share",
    origin: "assumption: 0.1 to 0.5 % for each °C is usual for resistive textiles (from memory)",
  },
  temperatureStep: { meaning: "Least distance of the two temperatures, °C", origin: assumed },
  flexSpread: { meaning: "Spread of a line while its cable is bent, share", origin: assumed },
  leanShift: {
    meaning: "Least shift of the centre of load in a lean, share of the half seat",
    origin: assumed,
  },
  cellLowMillivolts: { meaning: "Least voltage of the rested battery, mV", origin: assumed },
  cellHighMillivolts: { meaning: "Greatest voltage of the battery, mV", origin: assumed },
  cellHighTemperature: { meaning: "Greatest temperature of the battery, °C", origin: assumed },
  maskedShare: { meaning: "Cells that may be masked, share of all", origin: assumed },
  repeats: { meaning: "Readings taken of each thing", origin: assumed },
};
