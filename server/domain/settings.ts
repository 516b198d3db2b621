/** Every assumption the console acts on, with its default and where that comes from. The programme can change each;
 *  the page that lists them shows the origin, so that nobody mistakes a convention for a finding. */
export interface SettingDefinition {
  readonly default: number;
  readonly low: number;
  readonly high: number;
  readonly unit: string;
  readonly meaning: string;
  readonly origin: string;
}

export const settingDefinitions = {
  shortestGapMinutes: {
    default: 20,
    low: 2,
    high: 240,
    unit: "min",
    meaning: "Shortest stretch without a record that is listed as a gap.",
    origin: "assumption: shorter holes are common when a relay restarts",
  },
  thinStretchDue: {
    default: 3,
    low: 1,
    high: 12,
    unit: "due reliefs",
    meaning: "Reliefs due in a row, none seen, before a stretch is called thin.",
    origin: "assumption: single misses are normal even in good data",
  },
  sufficientOffMinutes: {
    default: 2,
    low: 1,
    high: 60,
    unit: "min",
    meaning: "Time off the cushion that restarts the relief clock.",
    origin: "assumption; regimens commonly hold 1 to 2 min",
  },
  settledThreshold: {
    default: 0.8,
    low: 0.5,
    high: 0.999,
    unit: "probability",
    meaning:
      "Probability a device, link or handling verdict must reach to be called settled. It stands for a cost: at 0.8 a wrong answer counts 5 times as much as none (1 / (1 - 0.8)).",
    origin: "assumption",
  },
  settledThresholdPerson: {
    default: 0.95,
    low: 0.5,
    high: 0.999,
    unit: "probability",
    meaning:
      "Probability a person-side verdict must reach: blaming a person wrongly costs most. At 0.95 it counts 20 times as much as no answer (1 / (1 - 0.95)).",
    origin: "follows from the costs (1 - 1 / 20); that a wrong word about a person costs 20 is an assumption",
  },
  dayCountsFromShare: {
    default: 0.7,
    low: 0,
    high: 1,
    unit: "share",
    meaning: "Share of a day's loan time that must be observed for the day to count towards a figure.",
    origin:
      "assumption: borrowed from rules for worn monitors (10 of 14 waking hours), which are no proof for cushions",
  },
  daysForAFigure: {
    default: 4,
    low: 1,
    high: 28,
    unit: "days",
    meaning: "Days that must count before a figure is given; below it only the range is.",
    origin:
      "assumption: at least four valid days is the usual rule for worn monitors, which is no proof for cushions",
  },
  leadWithRangeUnobservedShare: {
    default: 0.2,
    low: 0,
    high: 1,
    unit: "share",
    meaning: "Unobserved share above which a figure is shown as its range first.",
    origin: "assumption",
  },
  daysForATrend: {
    default: 21,
    low: 7,
    high: 366,
    unit: "days",
    meaning: "Days that must count, of one unit under one relief plan, before a trend is told.",
    origin:
      "assumption: three of each weekday, so that the rhythm of a week is not taken for a trend; common practice, no source",
  },
  dueForAComparison: {
    default: 20,
    low: 5,
    high: 1_000,
    unit: "due reliefs",
    meaning:
      "Due reliefs that must have been seen in each of two periods before their shares are compared, besides the days for a figure.",
    origin: "assumption: with fewer the interval of the difference is wider than 30 points either way",
  },
  useLearnedShares: {
    default: 1,
    low: 0,
    high: 1,
    unit: "1 yes, 0 no",
    meaning:
      "Whether verdicts start from what the programme found out (bench, visits, clinicians), where there is enough of it. 0 goes back to the documented shares at once.",
    origin: "our choice; what was learned stays counted either way",
  },
  learnedFrom: {
    default: 30,
    low: 5,
    high: 10_000,
    unit: "outcomes",
    meaning: "Outcomes found out of stretches of one kind before they change where verdicts start from.",
    origin: "assumption: fewer say more about who happened to be asked than about causes",
  },
  documentedWorth: {
    default: 60,
    low: 1,
    high: 10_000,
    unit: "outcomes",
    meaning: "How many outcomes the documented starting shares are worth beside those found out.",
    origin: "assumption: at twice the count from which learning takes effect, half each",
  },
  pairingCodeHours: {
    default: 72,
    low: 1,
    high: 336,
    unit: "h",
    meaning: "How long a pairing code may be used.",
    origin: "assumption: covers a delivery that slips over a weekend",
  },
} as const satisfies Record<string, SettingDefinition>;

export type SettingName = keyof typeof settingDefinitions;
export type Settings = Readonly<Record<SettingName, number>>;

export const defaultSettings: Settings = Object.fromEntries(
  Object.entries(settingDefinitions).map(([name, definition]) => [name, definition.default]),
) as Settings;
