import { zoneName } from "../../server/domain/time/local-day.ts";
import { instant } from "../../server/domain/units.ts";
import type { GapContext } from "../../server/domain/verdicts/gap-context.ts";
import type { ThinContext } from "../../server/domain/verdicts/thin-context.ts";

const london = zoneName("Europe/London");
if (!london) throw new Error("zone data missing");
export const zone = london;
export const thresholds = { settledThreshold: 0.8, settledThresholdPerson: 0.9 };
export const at = (text: string) => instant(Date.parse(text));

/** A gap of an afternoon of which next to nothing is known, and a thin stretch of a person who used to lean left. */
export const plainGap: GapContext = {
  span: { start: at("2026-11-10T14:10Z"), end: at("2026-11-10T21:40Z") },
  ongoing: false,
  filledAt: null,
  together: { silent: 0, others: 17, backFor: null },
  comeback: null,
  battery: null,
  chargeLeft: null,
  emptyFor: null,
  sinceCharge: null,
  charging: null,
  capacity: null,
  signal: null,
  before: null,
  after: null,
  colderBy: null,
  note: "none",
  hour: 14,
  certificate: "good",
  electronics: { signs: [] },
  history: null,
};

export const plainThin: ThinContext = {
  span: { start: at("2026-11-10T14:10Z"), end: at("2026-11-10T16:40Z") },
  ongoing: false,
  due: 5,
  stirs: null,
  eyes: { hidden: [], deadLine: null, drifted: false },
  habit: { earlier: { met: 150, due: 220, days: 13 }, lately: { met: 14, due: 48, days: 3 }, longAgo: null },
  mix: {
    earlier: { "lean-left": 70, "lean-right": 60, "lean-forward": 20 },
    lately: { "lean-right": 14, "lean-forward": 4 },
  },
  prompts: null,
  tries: { count: 0, countedBefore: 0 },
  load: { ratio: 1.01, turned: false },
  note: "none",
  planChangedAt: null,
};
