import fc from "fast-check";
import type { DownlinkMessage, StoredUpTo } from "../../firmware-protocol/src/downlink.ts";
import { commandActions } from "../../firmware-protocol/src/downlink.ts";
import type { Envelope, MinuteRecord, UplinkMessage } from "../../firmware-protocol/src/messages.ts";
import {
  breakOffReasons,
  chargeEnds,
  faultCodes,
  notices,
  powerEvents,
  powerStates,
  refusalReasons,
  relayLinks,
  reliefKinds,
  resetReasons,
  resultStates,
} from "../../firmware-protocol/src/messages.ts";

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

const hello = fc.record(
  {
    kind: fc.constant("hello" as const),
    firmware: label,
    hardware: label,
    reset: fc.constantFrom(...resetReasons),
    rows: between(2, 64),
    columns: between(2, 64),
    pitchMillimetres: between(1, 100),
    queued: count,
    oldestUnsent: fc.record({ boot: fc.constant(0), sequence: fc.constant(0) }),
    storeCapacityMessages: between(1, 0xffffffff),
    certificateNotAfter: count,
    relay: label,
  },
  {
    requiredKeys: ["kind", "firmware", "hardware", "reset", "rows", "columns", "pitchMillimetres", "queued"],
  },
);

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

const humidMinute = fc
  .tuple(minute, between(0, 100))
  .map(([record, humidityPercent]) => ({ ...record, humidityPercent }));
const run = { minLength: 1, maxLength: 60 };

const minutes = fc.record({
  kind: fc.constant("minutes" as const),
  firstUptimeSeconds: between(0, 80_000),
  minutes: fc.oneof(fc.array(minute, run), fc.array(humidMinute, run)),
});

const wholeRelief = fc.record({
  kind: fc.constant("relief" as const),
  relief: fc.constantFrom(...reliefKinds),
  startUptimeSeconds: earlier,
  holdSeconds: between(0, 65_535),
  depthPercent: between(0, 100),
  complete: flag,
  prompted: flag,
});
const reliefDetail = fc.record({
  complete: fc.constant(false),
  brokenOff: fc.constantFrom(...breakOffReasons),
  sideLoadPercent: fc.record({ left: between(0, 200), right: between(0, 200) }),
});
const relief = fc.oneof(
  wholeRelief,
  fc.tuple(wholeRelief, reliefDetail).map(([whole, detail]) => ({ ...whole, ...detail })),
);

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

const ascending = (places: number[]): number[] => places.sort((a, b) => a - b);

const step = fc.record({
  restMillivolts: between(0, 6000),
  loadMillivolts: between(0, 6000),
  burstMilliamperes: between(1, 5000),
});
const power = fc.tuple(fc.constantFrom(...powerEvents), flag).chain(([event, burst]) =>
  fc.record({
    kind: fc.constant("power" as const),
    event: fc.constant(event),
    atUptimeSeconds: earlier,
    cellMillivolts: between(0, 6000),
    temperatureDecicelsius: between(-400, 1250),
    ...(event === "charge-end" && { ended: fc.constantFrom(...chargeEnds) }),
    ...((burst || event === "voltage-step") && { step }),
  }),
);

const relay = fc.record({
  kind: fc.constant("relay" as const),
  relay: label,
  heardUptimeSeconds: earlier,
  relayUptimeSeconds: fc.option(count),
  link: fc.constantFrom(...relayLinks),
  signalDecibelMilliwatts: between(-140, 0),
});

const selfTest = fc.tuple(between(2, 64), between(2, 64)).chain(([rows, columns]) => {
  const below = (end: number) => fc.uniqueArray(between(0, end - 1), { maxLength: 40 }).map(ascending);
  return fc
    .tuple(below(rows * columns), below(rows), below(columns), flag)
    .chain(([failedCells, failedRows, failedColumns, clean]) =>
      fc.record({
        kind: fc.constant("self-test" as const),
        atUptimeSeconds: earlier,
        passed: fc.constant(clean && failedCells.length + failedRows.length + failedColumns.length === 0),
        rows: fc.constant(rows),
        columns: fc.constant(columns),
        cellsTested: between(failedCells.length, rows * columns),
        cellsFailed: fc.constant(failedCells.length),
        failedCells: fc.constant(failedCells),
        failedRows: fc.constant(failedRows),
        failedColumns: fc.constant(failedColumns),
      }),
    );
});
const answeringSelfTest = fc.tuple(selfTest, label).map(([test, command]) => ({ ...test, command }));

const prompt = fc.record({
  kind: fc.constant("prompt" as const),
  givenUptimeSeconds: earlier,
  planVersion: count,
  followedBySequence: fc.constant(null),
});

const notice = fc.record({
  kind: fc.constant("notice" as const),
  notice: fc.constantFrom(...notices),
  dueUnixSeconds: count,
});

const result = fc.constantFrom(...resultStates).chain((state) =>
  fc.record(
    {
      kind: fc.constant("result" as const),
      command: label,
      atUptimeSeconds: earlier,
      state: fc.constant(state),
      reason: state === "refused" ? fc.constantFrom(...refusalReasons) : fc.constant(null),
      detail: label,
    },
    { requiredKeys: ["kind", "command", "atUptimeSeconds", "state", "reason"] },
  ),
);

const der = fc.uint8Array({ minLength: 1, maxLength: 900 });
const renewal = fc.record(
  { kind: fc.constant("renewal" as const), request: der, command: label },
  { requiredKeys: ["kind", "request"] },
);

const body = fc.oneof(
  hello,
  minutes,
  relief,
  frame,
  fault,
  power,
  relay,
  selfTest,
  answeringSelfTest,
  prompt,
  notice,
  result,
  renewal,
);
export const uplinkMessage: fc.Arbitrary<UplinkMessage> = envelope.chain((head) =>
  body.map((told) => ({ ...told, ...head })),
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

const command = fc.constantFrom(...commandActions).chain((action) =>
  fc.record({
    kind: fc.constant("command" as const),
    id: label,
    expiresUnixSeconds: count,
    action: fc.constant(action),
    ...(action === "plan" && { planVersion: count }),
  }),
);

const certificate = fc.record({
  kind: fc.constant("certificate" as const),
  renewal: fc.record({ boot: count, sequence: count }),
  chain: fc.array(der, { minLength: 1, maxLength: 4 }),
});

export const downlinkMessage: fc.Arbitrary<DownlinkMessage> = fc.oneof(receipt, plan, command, certificate);
