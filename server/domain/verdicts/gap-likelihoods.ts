import type { ClueTable } from "./likelihoods.ts";

const assumed = "assumption, to be replaced by confirmed outcomes";

export const gapLikelihoods = {
  /** Units elsewhere with no record in the same minutes. */
  together: {
    origin: `${assumed}; a silence that starts in many homes at once has a shared cause (common practice, no source)`,
    values: {
      //        worn  charger elec unchar off reach home  area  prog  cert  away  chose
      alone: [0.93, 0.93, 0.93, 0.93, 0.93, 0.93, 0.93, 0.1, 0.01, 0.25, 0.93, 0.93],
      several: [0.063, 0.063, 0.063, 0.063, 0.063, 0.063, 0.063, 0.3, 0.07, 0.53, 0.063, 0.063],
      nearby: [0.002, 0.002, 0.002, 0.002, 0.002, 0.002, 0.002, 0.45, 0.02, 0.02, 0.002, 0.002],
      most: [0.005, 0.005, 0.005, 0.005, 0.005, 0.005, 0.005, 0.15, 0.9, 0.2, 0.005, 0.005],
      // What they shared is over: it hid when this one's own silence began, and doesn't explain why it lasts.
      "others-back": [0.03, 0.03, 0.03, 0.03, 0.03, 0.03, 0.05, 0.03, 0.012, 0.03, 0.03, 0.03],
    },
  },
  /** Ended gaps: the way down and the way back as one clue. */
  power: {
    origin: `${assumed}; a unit whose numbering runs on was recording all the while (by construction of the protocol)`,
    values: {
      "flat-restart": [0.88, 0.91, 0.03, 0.96, 0.03, 0.006, 0.004, 0.004, 0.004, 0.004, 0.606, 0.125],
      "plenty-brown-out": [0.06, 0.03, 0.228, 0.007, 0.01, 0.005, 0.005, 0.005, 0.005, 0.005, 0.005, 0.005],
      "plenty-power-on": [0.03, 0.03, 0.25, 0.018, 0.2, 0.005, 0.004, 0.004, 0.004, 0.004, 0.1, 0.16],
      "self-restart": [0.02, 0.02, 0.45, 0.0051, 0.007, 0.006, 0.006, 0.006, 0.006, 0.006, 0.005, 0.005],
      "off-by-hand": [0.002, 0.002, 0.02, 0.0015, 0.74, 0.003, 0.003, 0.003, 0.003, 0.003, 0.277, 0.698],
      "ran-on-delivered": [0.001, 0.001, 0.002, 0.001, 0.003, 0.55, 0.45, 0.5, 0.61, 0.41, 0.001, 0.001],
      "ran-on-lost": [0.002, 0.002, 0.01, 0.002, 0.004, 0.1, 0.12, 0.11, 0.06, 0.15, 0.002, 0.002],
      // In one boot on both sides it can have been neither flat nor switched off; the rest is for a placing gone wrong.
      "unbroken-lost": [2e-5, 2e-5, 1e-4, 2e-5, 2e-5, 0.13, 0.16, 0.14, 0.09, 0.2, 2e-5, 2e-5],
      "unbroken-owed": [4e-5, 4e-5, 1e-4, 4e-5, 4e-5, 0.1, 0.12, 0.12, 0.11, 0.11, 4e-5, 4e-5],
      "ran-on-owed": [0.004, 0.004, 0.01, 0.004, 0.006, 0.08, 0.1, 0.09, 0.09, 0.09, 0.004, 0.004],
    },
  },
  /** Gaps that still go on: only the way down is known. */
  "battery-before": {
    origin: assumed,
    values: {
      flat: [0.85, 0.9, 0.05, 0.93, 0.1, 0.07, 0.07, 0.07, 0.07, 0.07, 0.45, 0.12],
      plenty: [0.15, 0.1, 0.95, 0.07, 0.9, 0.93, 0.93, 0.93, 0.93, 0.93, 0.55, 0.88],
    },
  },
  /** Time since the last charge against this home's own usual. A charge that was cut short counts as one. */
  "since-charge": {
    origin: assumed,
    values: {
      usual: [0.85, 0.35, 0.88, 0.3, 0.85, 0.88, 0.88, 0.88, 0.88, 0.88, 0.45, 0.7],
      overdue: [0.15, 0.65, 0.12, 0.7, 0.15, 0.12, 0.12, 0.12, 0.12, 0.12, 0.55, 0.3],
    },
  },
  /** What a sound cell would still have held when this one stopped, by the charges that were seen (charge-left.ts);
   *  asked only where it may have run flat, and in place of the clue before where a full charge was seen, or none in
   *  many days of record: a charger that broke is seldom heard filling it. */
  "charge-left": {
    origin: `${assumed}; charge in and charge drawn, as a technician reckons it (common practice, no source)`,
    values: {
      //           worn  charger elec unchar off reach home  area  prog  cert  away  chose
      "much-left": [0.75, 0.02, 0.58, 0.006, 0.58, 0.58, 0.58, 0.58, 0.58, 0.58, 0.03, 0.03],
      "some-left": [0.13, 0.05, 0.24, 0.064, 0.24, 0.24, 0.24, 0.24, 0.24, 0.24, 0.11, 0.11],
      "used-up": [0.09, 0.15, 0.15, 0.9, 0.15, 0.15, 0.15, 0.15, 0.15, 0.15, 0.83, 0.83],
      "never-full": [0.03, 0.78, 0.03, 0.03, 0.03, 0.03, 0.03, 0.03, 0.03, 0.03, 0.03, 0.03],
    },
  },
  /** How likely it was, by this home's own habit, that so long a gap passed without a charge while they lived with it
   *  (usual-charges.ts); asked of a gap of a day and more. The starting shares know how long it lasted, not how often
   *  it is charged here. What keeps the record away without anybody's noticing is as likely under this as the person's absence. */
  "usual-charges": {
    origin: `${assumed}; a cell that ran flat is charged at its next usual time where somebody lives with it (common practice, no source)`,
    values: {
      //          worn charger elec unchar off  reach home  area  prog  cert  away  chose
      "could-be": [0.3, 0.12, 0.12, 0.35, 0.25, 0.12, 0.12, 0.12, 0.12, 0.12, 0.12, 0.12],
      unlikely: [0.5, 0.28, 0.28, 0.53, 0.45, 0.28, 0.28, 0.28, 0.28, 0.28, 0.28, 0.28],
      hardly: [0.2, 0.6, 0.6, 0.12, 0.3, 0.6, 0.6, 0.6, 0.6, 0.6, 0.6, 0.6],
    },
  },
  /** The charger's flag in the days before: on for minutes and off again, time after time, or as it should be. */
  charging: {
    origin: assumed,
    values: {
      broken: [0.01, 0.8, 0.02, 0.01, 0.01, 0.01, 0.01, 0.01, 0.01, 0.01, 0.01, 0.01],
      whole: [0.99, 0.2, 0.98, 0.99, 0.99, 0.99, 0.99, 0.99, 0.99, 0.99, 0.99, 0.99],
    },
  },
  capacity: {
    origin: assumed,
    values: {
      faded: [0.83, 0.06, 0.06, 0.06, 0.06, 0.06, 0.06, 0.06, 0.06, 0.06, 0.06, 0.06],
      sound: [0.17, 0.94, 0.94, 0.94, 0.94, 0.94, 0.94, 0.94, 0.94, 0.94, 0.94, 0.94],
    },
  },
  /** The relay as the unit heard it in the half hour before. A router that is down leaves the relay audible. */
  signal: {
    origin: assumed,
    values: {
      none: [0.03, 0.03, 0.03, 0.03, 0.04, 0.55, 0.35, 0.3, 0.05, 0.03, 0.03, 0.03],
      weak: [0.1, 0.1, 0.1, 0.1, 0.12, 0.33, 0.15, 0.07, 0.1, 0.1, 0.1, 0.1],
      fine: [0.87, 0.87, 0.87, 0.87, 0.84, 0.12, 0.5, 0.63, 0.85, 0.87, 0.87, 0.87],
    },
  },
  /** How it was left, and whether it had stood empty far longer than it ever does here: nobody was about. */
  /** What the relay said of itself, apart from what the unit heard of it: only of units whose firmware passes it on. */
  relay: {
    origin: `${assumed}; a relay that says its own link was down speaks of the link and of nobody`,
    values: {
      "said-down": [0.012, 0.012, 0.012, 0.012, 0.012, 0.05, 0.4, 0.45, 0.06, 0.03, 0.012, 0.012],
      restarted: [0.02, 0.02, 0.02, 0.02, 0.02, 0.03, 0.16, 0.12, 0.02, 0.02, 0.02, 0.02],
      another: [0.01, 0.01, 0.01, 0.01, 0.015, 0.06, 0.09, 0.01, 0.01, 0.01, 0.01, 0.01],
      up: [0.958, 0.958, 0.958, 0.958, 0.953, 0.86, 0.35, 0.42, 0.91, 0.94, 0.958, 0.958],
    },
  },
  "state-before": {
    origin: assumed,
    values: {
      seated: [0.5, 0.5, 0.48, 0.46, 0.3, 0.45, 0.38, 0.38, 0.38, 0.38, 0.12, 0.3],
      off: [0.45, 0.45, 0.3, 0.51, 0.48, 0.52, 0.43, 0.43, 0.43, 0.43, 0.24, 0.44],
      "on-charge": [0.04, 0.04, 0.21, 0.02, 0.21, 0.02, 0.17, 0.17, 0.17, 0.17, 0.06, 0.16],
      "long-empty": [0.01, 0.01, 0.01, 0.012, 0.008, 0.01, 0.02, 0.02, 0.02, 0.02, 0.58, 0.1],
    },
  },
  "state-after": {
    origin: assumed,
    values: {
      seated: [0.03, 0.03, 0.4, 0.025, 0.37, 0.4, 0.38, 0.38, 0.38, 0.38, 0.14, 0.34],
      off: [0.04, 0.04, 0.4, 0.035, 0.43, 0.45, 0.45, 0.45, 0.45, 0.45, 0.29, 0.45],
      "on-charge": [0.93, 0.93, 0.2, 0.94, 0.2, 0.15, 0.17, 0.17, 0.17, 0.17, 0.57, 0.21],
    },
  },
  /** Insert on return against before, both off the seat: was it somewhere cold? */
  temperature: {
    origin: assumed,
    values: {
      colder: [0.06, 0.06, 0.06, 0.07, 0.2, 0.3, 0.04, 0.04, 0.04, 0.04, 0.2, 0.15],
      same: [0.94, 0.94, 0.94, 0.93, 0.8, 0.7, 0.96, 0.96, 0.96, 0.96, 0.8, 0.85],
    },
  },
  note: {
    origin: `${assumed}; notes are sometimes wrong or missing`,
    values: {
      hospital: [0.01, 0.01, 0.01, 0.015, 0.01, 0.01, 0.01, 0.01, 0.01, 0.01, 0.33, 0.01],
      holiday: [0.01, 0.01, 0.01, 0.015, 0.01, 0.08, 0.01, 0.01, 0.01, 0.01, 0.28, 0.01],
      "washed-cover": [0.03, 0.03, 0.05, 0.03, 0.18, 0.03, 0.03, 0.03, 0.03, 0.03, 0.01, 0.01],
      visit: [0.05, 0.05, 0.05, 0.05, 0.06, 0.05, 0.05, 0.05, 0.05, 0.05, 0.02, 0.05],
      none: [0.9, 0.9, 0.88, 0.89, 0.74, 0.83, 0.9, 0.9, 0.9, 0.9, 0.36, 0.92],
    },
  },
  hour: {
    origin: `${assumed}; 8 of 24 hours are night`,
    values: {
      night: [0.33, 0.33, 0.33, 0.33, 0.45, 0.3, 0.33, 0.33, 0.33, 0.33, 0.25, 0.33],
      day: [0.67, 0.67, 0.67, 0.67, 0.55, 0.7, 0.67, 0.67, 0.67, 0.67, 0.75, 0.67],
    },
  },
  certificate: {
    origin: assumed,
    values: {
      refused: [0.01, 0.01, 0.01, 0.01, 0.01, 0.01, 0.01, 0.01, 0.01, 0.97, 0.01, 0.01],
      good: [0.99, 0.99, 0.99, 0.99, 0.99, 0.99, 0.99, 0.99, 0.99, 0.03, 0.99, 0.99],
    },
  },
  /** Open findings of repeated restarts, heat or wet. */
  electronics: {
    origin: assumed,
    values: {
      signs: [0.12, 0.08, 0.6, 0.05, 0.05, 0.05, 0.05, 0.05, 0.05, 0.05, 0.05, 0.05],
      "no-sign": [0.88, 0.92, 0.4, 0.95, 0.95, 0.95, 0.95, 0.95, 0.95, 0.95, 0.95, 0.95],
    },
  },
} as const satisfies Record<string, ClueTable>;
