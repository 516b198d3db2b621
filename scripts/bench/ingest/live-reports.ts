import type { Shape } from "./load-messages.ts";

/** A unit that tells of each minute as it ends. */
export const liveReport: Shape = { minutesEach: 1, writtenAgoSeconds: 0 };

/** 100,000 units that report once a minute. */
export const steadyPerSecond = 1_700;
