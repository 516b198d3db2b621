import fc from "fast-check";
import type {
  DownlinkMessage,
  Envelope,
  MinuteRecord,
  StoredUpTo,
  UplinkMessage,
} from "../../firmware-protocol/src/messages.ts";
import { faultCodes, powerStates, reliefKinds, resetReasons } from "../../firmware-protocol/src/messages.ts";

const count = fc.integer({ min: 0, max: 0xffffffff });
const between = (min: number, max: number): fc.Arbitrary<number> => fc.integer({ min, max });
const flag = fc.boolean();
const label = fc.string({ unit: "grapheme-ascii", minLength: 1, maxLength: 32 });
const serial = fc.stringMatching(/^[A-Z0-9][A-Z0-9-]{2,31}$/);

const envelope: fc.Arbitrary<Envelope> = fc.record({
  unit: serial,
  boot: count,
  sequence: count,
  uptimeSeconds: between(86_400, 0xffffffff),
  wallSeconds: fc.option(count),
});
const earlier = between(0, 86_400);

const hello = fc.record({
  kind: fc.constant("hello" as const),
  firmware: label,
  hardware: label,
  reset: fc.constantFrom(...resetReasons),
  rows: between(2, 64),
  columns: between(2, 64),
  pitchMillimetres: between(1, 100),
  queued: count,
});

const minute: fc.Arbitrary<MinuteRecord> = fc.record({
  loaded: flag,
  power: fc.constantFrom(...powerStates),
  loadHectograms: between(0, 5000),
  centreRightPercent: between(-100, 100),
  centreFrontPercent: between(-100, 100),
  cellMillivolts: between(0, 6000),
  temperatureDecicelsius: between(-400, 1250),
  signalDecibelMilliwatts: fc.option(between(-140, 0)),
});

const minutes = fc.record({
  kind: fc.constant("minutes" as const),
  firstUptimeSeconds: between(0, 80_000),
  minutes: fc.array(minute, { minLength: 1, maxLength: 60 }),
});

const relief = fc.record({
  kind: fc.constant("relief" as const),
  relief: fc.constantFrom(...reliefKinds),
  startUptimeSeconds: earlier,
  holdSeconds: between(0, 65_535),
  depthPercent: between(0, 100),
  complete: flag,
  prompted: flag,
});

const frame = fc.tuple(between(2, 16), between(2, 16)).chain(([rows, columns]) =>
  fc.record({
    kind: fc.constant("frame" as const),
    takenUptimeSeconds: earlier,
    loaded: flag,
    rows: fc.constant(rows),
    columns: fc.constant(columns),
    temperatureDecicelsius: between(-400, 1250),
    cells: fc.uint8Array({ minLength: rows * columns, maxLength: rows * columns }),
  }),
);

const lost = fc.tuple(count, count, count).map(([boot, one, other]) => ({
  boot,
  fromSequence: Math.min(one, other),
  toSequence: Math.max(one, other),
}));

const fault = fc.constantFrom(...faultCodes).chain((code) =>
  fc.record({
    kind: fc.constant("fault" as const),
    fault: fc.constant(code),
    atUptimeSeconds: earlier,
    lost: code === "store-overrun" ? lost : fc.constant(null),
    value: fc.option(between(-(2 ** 31), 2 ** 31 - 1)),
  }),
);

export const uplinkMessage: fc.Arbitrary<UplinkMessage> = envelope.chain((head) =>
  fc.oneof(hello, minutes, relief, frame, fault).map((body) => ({ ...body, ...head })),
);

/** Holes from the widths of what is missing and of what is stored between. */
const storedUpTo = (boot: number): fc.Arbitrary<StoredUpTo> =>
  fc.array(fc.tuple(between(1, 9), between(1, 9)), { maxLength: 32 }).map((runs) => {
    const holes: [number, number][] = [];
    let next = 0;
    for (const [missing, present] of runs) {
      holes.push([next, next + missing - 1]);
      next += missing + present;
    }
    return { boot, through: next, holes };
  });

const receipt = fc
  .uniqueArray(count, { maxLength: 8 })
  .chain((boots) => fc.tuple(...boots.sort((a, b) => a - b).map(storedUpTo)))
  .chain((stored) =>
    fc.record({
      kind: fc.constant("receipt" as const),
      stored: fc.constant(stored),
      serverUnixSeconds: count,
    }),
  );

const plan = fc.record({
  kind: fc.constant("plan" as const),
  version: count,
  intervalMinutes: between(1, 1440),
  holdSeconds: between(1, 3600),
  kinds: fc.shuffledSubarray([...reliefKinds], { minLength: 1 }),
});

export const downlinkMessage: fc.Arbitrary<DownlinkMessage> = fc.oneof(receipt, plan);
