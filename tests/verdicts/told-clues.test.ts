import { describe, expect, test } from "vitest";
import { nothingElseTold } from "../../server/domain/record/told-events.ts";
import type { UnitRecord } from "../../server/domain/record/unit-record.ts";
import { celsius, decibelMilliwatts, instant, kilograms, millivolts } from "../../server/domain/units.ts";
import { aroundGap } from "../../server/domain/verdicts/around-a-gap.ts";
import type { GapContext } from "../../server/domain/verdicts/gap-context.ts";
import { judgeGap, judgeThin } from "../../server/domain/verdicts/judge.ts";
import { silentTogether } from "../../server/domain/verdicts/silent-together.ts";
import type { ToldAround } from "../../server/domain/verdicts/told-around.ts";
import { at, plainGap, plainThin, thresholds, zone } from "./plain-contexts.ts";

const quiet: ToldAround = {
  relay: null,
  cutOffAt: null,
  lastCharge: null,
  onReturn: null,
  overrun: 0,
  prompts: { given: 0, followed: 0 },
};
const relayTold = (relay: Partial<NonNullable<ToldAround["relay"]>>): ToldAround => ({
  ...quiet,
  relay: { before: "up", after: "up", saidDown: false, restartedAt: null, changed: false, ...relay },
});
const gap = (known: Partial<GapContext>) => judgeGap({ ...plainGap, ...known }, thresholds, zone);

describe("what the relay says of itself", () => {
  const open = { ongoing: true, together: null, before: "seated" } as const;

  test("down by its own word is the link, before anybody has come back", () => {
    const silent = gap(open);
    const down = gap({ ...open, told: relayTold({ before: "down" }) });
    expect(silent.outcome).toBe("not-settled");
    expect(down.outcome).toBe("link");
    expect(down.evidence[0]?.clue).toBe("relay");
  });

  test("up by its own word speaks against the link, and hardly for any one of the others", () => {
    const before = gap(open).sides;
    const up = gap({ ...open, told: relayTold({}) }).sides;
    expect(up.link).toBeLessThan(before.link);
    expect(up.person / up.device).toBeCloseTo(before.person / before.device, 2);
  });

  test("no word of it is no clue", () => {
    expect(gap({ ...open, told: quiet }).sides).toEqual(gap(open).sides);
    expect(gap({ ...open, told: relayTold({ before: null }) }).sides).toEqual(gap(open).sides);
  });
});

describe("silent together", () => {
  const start = at("2026-11-10T14:00Z");
  const hour = 3_600_000;
  const others = (backAfter: number | null) =>
    Array.from({ length: 12 }, () => ({
      gaps: [
        {
          start: instant(start + 60_000),
          end: backAfter === null ? null : instant(start + backAfter * hour),
        },
      ],
      lastRecorded: null,
    }));
  const now = (backAfter: number | null) => {
    const span = { start, end: instant(start + 9 * hour) };
    return gap({ span, ongoing: true, together: silentTogether(span, true, others(backAfter)) });
  };

  test("while the others are silent too, it is what they share", () => {
    expect(now(null).outcome).toBe("link");
    expect(now(null).causes[0]?.cause).toBe("programme-link");
  });

  test("once the others have been back for hours, what they shared no longer answers for the one still silent", () => {
    const alone = now(2);
    expect(alone.outcome).toBe("not-settled");
    expect(alone.causes[0]?.cause).not.toBe("programme-link");
    expect(alone.evidence.find(({ clue }) => clue === "together")?.sentence).toContain(
      "most of them were back 7 h before now, and this one is still silent",
    );
    // Just back is not long back: its own backlog may be on the way.
    expect(now(8.9).causes[0]?.cause).toBe("programme-link");
  });
});

describe("prompts", () => {
  const perDay = (given: number, followed: number) => ({ given, followed });
  const thin = (lately: { given: number; followed: number } | null) =>
    judgeThin(
      {
        ...plainThin,
        prompts: {
          earlierPrompted: 6,
          latelyPrompted: 1,
          earlierUnprompted: 4,
          latelyUnprompted: 4,
          given: lately && { earlier: perDay(10, 6), lately },
        },
      },
      thresholds,
      zone,
    );
  const fading = (verdict: ReturnType<typeof thin>) =>
    verdict.causes.find(({ cause }) => cause === "prompts-fading")?.probability ?? 0;

  test("given as before and followed no more are fading; not given at all they say nothing of the person", () => {
    expect(fading(thin(perDay(10, 1)))).toBeGreaterThan(fading(thin(perDay(2, 1))));
    expect(thin(perDay(2, 1)).evidence.some(({ clue }) => clue === "prompts")).toBe(false);
    expect(thin(perDay(2, 1)).sides.person).toBeLessThan(thin(null).sides.person);
  });
});

describe("around a gap", () => {
  const minute = (minutes: number, boot: number): UnitRecord["minutes"][number] => ({
    at: instant(minutes * 60_000),
    receivedAt: instant(minutes * 60_000),
    boot,
    seat: "loaded",
    load: kilograms(60),
    centreRight: 0,
    centreFront: 0,
    cell: millivolts(3_900),
    power: "on-battery",
    temperature: celsius(29),
    signal: decibelMilliwatts(-60),
  });
  const span = { start: instant(100 * 60_000), end: instant(400 * 60_000) };
  const record = (told: Partial<UnitRecord>): UnitRecord => ({
    minutes: [minute(99, 1), minute(400, 1)],
    reliefs: [],
    frames: [],
    boots: [],
    faults: [],
    holes: [],
    ...nothingElseTold,
    ...told,
  });
  const named = { receivedAt: span.end, boot: 1, sequence: 9 };

  test("a greeting in the same boot with a full store says that it ran on and owes us what it kept", () => {
    const greeting = (queued: number) => ({
      ...named,
      at: span.end,
      reset: "power-on" as const,
      firmware: "1",
      hardware: "A",
      queued,
      oldestUnsent: null,
      storeCapacity: null,
      certificateEnds: null,
      relay: null,
    });
    const comeback = (queued: number) =>
      aroundGap(record({ greetings: [greeting(queued)] }), span, false, false).comeback;
    expect(comeback(40)).toEqual({ kind: "ran-on", fate: "owed", messages: 40 });
    expect(comeback(1)).toBeNull();
  });

  test("a cut-off told as a power event counts as one told as a fault, and both together once", () => {
    const event = {
      ...named,
      at: span.start,
      event: "cut-off" as const,
      cell: millivolts(3_150),
      temperature: celsius(22),
      ended: null,
      step: null,
    };
    const fault = { at: span.start, receivedAt: span.end, code: "battery-cut-off" as const, detail: "" };
    const battery = (told: Partial<UnitRecord>) => aroundGap(record(told), span, false, false).battery;
    expect(battery({ powerEvents: [event] })).toEqual(battery({ faults: [fault] }));
    expect(battery({ powerEvents: [event], faults: [fault] })).toEqual(battery({ faults: [fault] }));
    expect(battery({ powerEvents: [event] })?.path).toBe("flat");
  });

  test("a hole that is open at one end speaks only of the gap that its other end borders on", () => {
    const hole = (after: number | null, before: number | null) => ({
      boot: 1,
      fromSequence: 3,
      toSequence: 9,
      after: after === null ? null : instant(after * 60_000),
      before: before === null ? null : instant(before * 60_000),
      fate: "lost" as const,
    });
    const comeback = (...holes: UnitRecord["holes"]) =>
      aroundGap(record({ holes }), span, false, false).comeback?.kind ?? null;
    expect(comeback(hole(null, null))).toBeNull();
    expect(comeback(hole(20, null))).toBeNull();
    expect(comeback(hole(null, 900))).toBeNull();
    expect(comeback(hole(100, null))).toBe("ran-on");
    expect(comeback(hole(null, 400))).toBe("ran-on");
  });
});

test("an insert that its own pictures show folded is asked about before the person is", () => {
  const folded = judgeThin(
    { ...plainThin, eyes: { hidden: [], deadLine: null, drifted: false, insertOff: true } },
    thresholds,
    zone,
  );
  expect(folded.outcome).not.toBe("person");
  expect(folded.sides.person).toBeLessThan(judgeThin(plainThin, thresholds, zone).sides.person);
});
