/** What is put on the cushion for a reading. */
export type PointLoad = "none" | "plate" | "weight" | "lean" | "flex";

/** One thing to set up and read; several readings in a row are taken of it, so that their spread is known. */
export interface BenchPoint {
  readonly id: string;
  /** What to do before the reading is taken. */
  readonly words: string;
  readonly load: PointLoad;
}

export const stepIds = [
  "identity",
  "line-sweep",
  "empty-map",
  "uniform-load",
  "known-weights",
  "rise-and-fall",
  "hold",
  "second-temperature",
  "cable-flex",
  "lean-test",
  "battery",
] as const;
export type StepId = (typeof stepIds)[number];

export interface BenchStep {
  readonly id: StepId;
  readonly title: string;
  /** Why it is done, in a sentence. */
  readonly why: string;
  /** Readings of the grid to take, in this order; empty where the unit tells in another way. */
  readonly points: readonly BenchPoint[];
}

const weightAt = (id: string, where: string): BenchPoint => ({
  id,
  words: `Put the known weight ${where}, and wait until it rests.`,
  load: "weight",
});

const rising = (id: string, words: string): BenchPoint => ({ id, words, load: "plate" });

/** The order matters: the empty reading is taken off every later one, and a line that is found open is left out of
 *  what follows. Origin of the list: common practice for resistive pressure arrays, no source. */
export const benchSteps: readonly BenchStep[] = [
  {
    id: "identity",
    title: "Firmware and certificate",
    why: "The unit on the bench is the one on the label, with firmware nobody recalls and the grid its model has.",
    points: [],
  },
  {
    id: "line-sweep",
    title: "Line sweep",
    why: "The unit drives every row and column in turn and tells which carry no current.",
    points: [],
  },
  {
    id: "empty-map",
    title: "Empty map",
    why: "What each cell reads with nothing on it, taken off every later reading.",
    points: [{ id: "empty", words: "Take everything off the cushion.", load: "none" }],
  },
  {
    id: "uniform-load",
    title: "Even load",
    why: "The plate loads all cells alike: a cell that stays behind or runs ahead shows.",
    points: [
      { id: "even", words: "Lay the plate on and press with the load you type below.", load: "plate" },
    ],
  },
  {
    id: "known-weights",
    title: "Known weights, middle and corners",
    why: "The same weight must read the same wherever it lies, and lie where the map says.",
    points: [
      weightAt("middle", "in the middle"),
      weightAt("front-left", "a quarter in from the front and the left edge"),
      weightAt("front-right", "a quarter in from the front and the right edge"),
      weightAt("rear-left", "a quarter in from the rear and the left edge"),
      weightAt("rear-right", "a quarter in from the rear and the right edge"),
    ],
  },
  {
    id: "rise-and-fall",
    title: "Rising and falling",
    why: "The same load read on the way up and on the way down: the difference is the hysteresis.",
    points: [
      rising("up-low", "Press with about a third of the full load."),
      rising("up-middle", "Go up to about two thirds. Never back in between."),
      rising("top", "Go up to the full load."),
      rising("down-middle", "Come down to the two thirds from before."),
      rising("down-low", "Come down to the third from before."),
    ],
  },
  {
    id: "hold",
    title: "Hold",
    why: "A load left alone creeps upwards in a textile; more than usual means foam or insert are tired.",
    points: [
      { id: "begin", words: "Press with the plate and read at once.", load: "plate" },
      { id: "end", words: "Leave it for the time the model asks, then read again.", load: "plate" },
    ],
  },
  {
    id: "second-temperature",
    title: "Second temperature",
    why: "How much a reading moves with warmth, so that a hot day isn’t taken for a heavy person.",
    points: [
      {
        id: "warm-empty",
        words: "Bring the cushion to the second temperature. Nothing on it.",
        load: "none",
      },
      { id: "warm-load", words: "Press with the same load as in the even load.", load: "plate" },
    ],
  },
  {
    id: "cable-flex",
    title: "Cable flex",
    why: "A line that comes and goes shows while its cable is bent.",
    points: [
      {
        id: "flexed",
        words: "Leave the plate’s load on. Bend the cable at the plug to all sides while the readings come.",
        load: "flex",
      },
    ],
  },
  {
    id: "lean-test",
    title: "Leans",
    why: "Leans to the left, the right and forward have to show: they are what the cushion is lent for.",
    points: [
      { id: "rest", words: "Load the seat evenly, as somebody sits.", load: "lean" },
      { id: "left", words: "Shift the load to the left, as in a lean.", load: "lean" },
      { id: "right", words: "Shift the load to the right.", load: "lean" },
      { id: "forward", words: "Shift the load forward.", load: "lean" },
    ],
  },
  {
    id: "battery",
    title: "Battery",
    why: "Voltage and warmth at rest, and what only eyes and nose can tell.",
    points: [],
  },
];

export const stepById = (id: StepId): BenchStep => {
  const step = benchSteps.find((each) => each.id === id);
  if (step === undefined) throw new Error(`no step ${id}`);
  return step;
};

/** @returns null after the last */
export const stepAfter = (id: StepId): StepId | null => stepIds[stepIds.indexOf(id) + 1] ?? null;
