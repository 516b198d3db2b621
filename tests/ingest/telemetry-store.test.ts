import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { instant, type Span } from "../../server/domain/units.ts";
import { type OpenDatabase, openDatabase } from "../../server/store/database.ts";
import { reviewMark } from "../../server/store/schema/record.ts";
import { createTelemetryStore } from "../../server/store/telemetry.ts";
import type { TelemetryStore } from "../../server/store/telemetry-port.ts";
import { cushion, fault, hello, incoming, minutesUpTo, switchedOn } from "./cushion-messages.ts";

const wholeWeek: Span = {
  start: instant(switchedOn - 86_400_000),
  end: instant(switchedOn + 6 * 86_400_000),
};
const at = (minutes: number) => instant(switchedOn + minutes * 60_000);

let folder: string;
let database: OpenDatabase;
let store: TelemetryStore;

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "telemetry-"));
  database = openDatabase(folder);
  store = createTelemetryStore(database);
});

afterEach(() => {
  database.close();
  rmSync(folder, { recursive: true, force: true });
});

describe("storing", () => {
  it("counts a resend as one, and receipts it again", async () => {
    const messages = [
      incoming(hello({ uptime: 1 })),
      incoming(minutesUpTo({ sequence: 1, uptime: 600 }, 10)),
    ];
    const first = await store.append(messages);
    const again = await store.append([...messages, ...messages]);
    expect(first).toMatchObject({ stored: 2, duplicates: 0, keptAside: 0 });
    expect(again).toMatchObject({ stored: 0, duplicates: 4, keptAside: 0 });
    expect(again.receipts.get(cushion)).toEqual([{ boot: 1, through: 1, holes: [] }]);
    expect((await store.read(cushion, wholeWeek)).minutes).toHaveLength(10);
  });

  it("keeps a poison message aside with its reason and stores its neighbours", async () => {
    const poison = { ...incoming(hello({ uptime: 1 })), payload: Uint8Array.of(0xff, 0x00) };
    const outcome = await store.append([incoming(hello({ uptime: 1 })), poison, poison]);
    expect(outcome).toMatchObject({ stored: 1, keptAside: 2 });
    const [count, ...others] = await store.keptAside();
    expect(others).toEqual([]);
    expect(count).toMatchObject({ unit: cushion, messages: 1 });
    expect(count?.lastReason).not.toBe("");
    expect(database.driver.prepare("select times from kept_aside").pluck().all()).toEqual([2]);
  });

  it("never lets a message speak for another unit, and gives no receipt for it", async () => {
    const foreign = {
      ...incoming(hello({ uptime: 1, unit: "CU-000008" })),
      topic: `cushion/1/${cushion}/up/hello`,
    };
    const outcome = await store.append([foreign]);
    expect(outcome).toMatchObject({ stored: 0, keptAside: 1 });
    expect(outcome.receipts.size).toBe(0);
  });

  it("lets a unit forget its own message that came on another kind's topic, since the bytes are kept", async () => {
    const misplaced = { ...incoming(hello({ uptime: 1 })), topic: `cushion/1/${cushion}/up/minutes` };
    const outcome = await store.append([misplaced]);
    expect(outcome).toMatchObject({ stored: 0, keptAside: 1 });
    expect(outcome.receipts.get(cushion)).toEqual([{ boot: 1, through: 0, holes: [] }]);
  });

  it("keeps the first of two different messages under one name, and the second aside", async () => {
    await store.append([incoming(hello({ uptime: 1 }, "2.3.1"))]);
    const outcome = await store.append([incoming(hello({ uptime: 1 }, "9.9.9"))]);
    expect(outcome).toMatchObject({ stored: 0, duplicates: 0, keptAside: 1 });
    expect((await store.read(cushion, wholeWeek)).boots.map((boot) => boot.firmware)).toEqual(["2.3.1"]);
  });

  it("keeps aside a message that the tables themselves refuse, and stores its neighbours", async () => {
    database.driver.exec(`create temp trigger refuse before insert on message when new.sequence = 2
      begin select raise(abort, 'planted'); end`);
    const batch = [1, 2, 3].map((sequence) => incoming(hello({ sequence, uptime: sequence })));
    const outcome = await store.append(batch);
    expect(outcome).toMatchObject({ stored: 2, keptAside: 1 });
    expect(outcome.receipts.get(cushion)).toEqual([
      {
        boot: 1,
        through: 3,
        holes: [
          [0, 0],
          [2, 2],
        ],
      },
    ]);
    expect((await store.keptAside())[0]?.lastReason).toContain("planted");
  });

  it("takes nothing of a batch whose commit fails", async () => {
    database.driver.pragma("query_only = on");
    await expect(store.append([incoming(hello({ uptime: 1 }))])).rejects.toThrow();
    database.driver.pragma("query_only = off");
    expect((await store.read(cushion, wholeWeek)).boots).toEqual([]);
    expect(await store.unreviewed()).toEqual([]);
  });
});

describe("placing in true time", () => {
  it("places a backlog when it happened, not when it arrived", async () => {
    const late = at(3 * 24 * 60);
    await store.append([incoming(minutesUpTo({ uptime: 600 }, 10), late)]);
    const { minutes } = await store.read(cushion, wholeWeek);
    expect(minutes.map((minute) => minute.at)).toEqual(Array.from({ length: 10 }, (_, minute) => at(minute)));
    expect(minutes.every((minute) => minute.receivedAt === late)).toBe(true);
  });

  it("moves a boot that had no clock to its right place as soon as a clock speaks", async () => {
    await store.append([incoming(minutesUpTo({ uptime: 600, wall: null }, 10), at(90))]);
    expect((await store.read(cushion, wholeWeek)).minutes[0]?.at).toBe(at(80));
    await store.append([incoming(hello({ sequence: 1, uptime: 5_400 }), at(90))]);
    expect((await store.read(cushion, wholeWeek)).minutes[0]?.at).toBe(at(0));
    const [unreviewed] = await store.unreviewed();
    expect(unreviewed?.earliest).toBe(at(0));
  });

  it("believes the clock that was set last when a dead one had woken with a wrong date", async () => {
    const wrong = Date.UTC(2025, 5, 1) / 1_000;
    await store.append([incoming(minutesUpTo({ uptime: 600, wall: wrong }, 10), at(10))]);
    await store.append([incoming(hello({ sequence: 1, uptime: 630 }))]);
    expect((await store.read(cushion, wholeWeek)).minutes[0]?.at).toBe(at(0));
  });

  it("disbelieves a clock that starts in 1970 or runs ahead of the message's arrival", async () => {
    await store.append([
      incoming(minutesUpTo({ uptime: 600, wall: 600 }, 10)),
      incoming(minutesUpTo({ boot: 2, uptime: 600, wall: at(500) / 1_000 }, 10), at(120)),
    ]);
    const { minutes } = await store.read(cushion, wholeWeek);
    expect(minutes.map((minute) => minute.at)).toEqual(
      [...Array(10).keys(), ...Array.from({ length: 10 }, (_, minute) => 110 + minute)].map(at),
    );
  });

  it("leaves no hole and no overlap between the minutes of a boot whose clock drifts", async () => {
    const messages = Array.from({ length: 200 }, (_, hour) => {
      const uptime = (hour + 1) * 3_600;
      const drifted = Math.floor(switchedOn / 1_000) + uptime + Math.floor(hour / 4);
      return incoming(minutesUpTo({ sequence: hour, uptime, wall: drifted }, 60), instant(drifted * 1_000));
    });
    for (const message of messages) await store.append([message]);
    const { minutes, holes } = await store.read(cushion, { start: switchedOn, end: at(201 * 60) });
    const steps = minutes.slice(1).map((minute, before) => minute.at - (minutes[before]?.at ?? 0));
    expect(new Set(steps)).toEqual(new Set([60_000]));
    expect(minutes).toHaveLength(200 * 60);
    expect(holes).toEqual([]);
  });
});

describe("what is missing", () => {
  const gappy = [hello({ uptime: 1 }), minutesUpTo({ sequence: 4, uptime: 7_200 }, 10)];

  it("is awaited when a later message of the boot shows that it exists", async () => {
    const outcome = await store.append(gappy.map((message) => incoming(message)));
    expect(outcome.receipts.get(cushion)).toEqual([{ boot: 1, through: 4, holes: [[1, 3]] }]);
    expect((await store.read(cushion, wholeWeek)).holes).toEqual([
      {
        boot: 1,
        fromSequence: 1,
        toSequence: 3,
        after: instant(switchedOn + 1_000),
        before: at(110),
        fate: "awaited",
      },
    ]);
  });

  it("is lost where the unit says that its store overran", async () => {
    const overrun = fault({ boot: 1, sequence: 5, uptime: 7_300 }, "store-overrun", {
      boot: 1,
      fromSequence: 1,
      toSequence: 2,
    });
    await store.append(gappy.map((message) => incoming(message)));
    expect((await store.read(cushion, wholeWeek)).holes.map((hole) => hole.fate)).toEqual(["awaited"]);
    await store.append([incoming(overrun)]);
    const { holes } = await store.read(cushion, wholeWeek);
    expect(holes.map((hole) => [hole.fromSequence, hole.toSequence, hole.fate])).toEqual([
      [1, 2, "lost"],
      [3, 3, "awaited"],
    ]);
    const known = await store.read(cushion, wholeWeek, instant(switchedOn + 7_300_000));
    expect(known.holes).toEqual(holes);
  });

  it("is not asked for again by a receipt once the unit has said that it is lost [FP-6.9]", async () => {
    const overrun = fault({ boot: 2, uptime: 60 }, "store-overrun", {
      boot: 1,
      fromSequence: 1,
      toSequence: 3,
    });
    const outcome = await store.append([...gappy, overrun].map((message) => incoming(message)));
    expect(outcome.receipts.get(cushion)).toEqual([
      { boot: 1, through: 4, holes: [] },
      { boot: 2, through: 0, holes: [] },
    ]);
  });

  it("is no boot: a unit that says hello again after a while has not started again", async () => {
    await store.append([
      incoming(hello({ uptime: 2 })),
      incoming(hello({ sequence: 1, uptime: 9_000 })),
      incoming(hello({ boot: 2, uptime: 2, bootedAt: at(300) }), at(301)),
    ]);
    const { boots } = await store.read(cushion, wholeWeek);
    expect(boots.map(({ boot, at: began }) => [boot, began])).toEqual([
      [1, at(0)],
      [2, at(300)],
    ]);
  });

  it("is no hole once it has come, save as known on an earlier day", async () => {
    await store.append(gappy.map((message) => incoming(message, at(200))));
    const filling = [1, 2, 3].map((sequence) => minutesUpTo({ sequence, uptime: sequence * 1_800 }, 30));
    await store.append(filling.map((message) => incoming(message, at(300))));
    expect((await store.read(cushion, wholeWeek)).holes).toEqual([]);
    const before = await store.read(cushion, wholeWeek, at(250));
    expect(before.holes.map((hole) => [hole.fromSequence, hole.toSequence])).toEqual([[1, 3]]);
    expect(before.minutes).toHaveLength(10);
  });
});

describe("what a review has still to see", () => {
  const mark = (throughMessage: number) =>
    database.db
      .insert(reviewMark)
      .values({ unitSerial: cushion, throughMessage, reviewedAt: switchedOn })
      .onConflictDoUpdate({ target: reviewMark.unitSerial, set: { throughMessage } })
      .run();

  it("is everything since the last review, also after a restart", async () => {
    await store.append([incoming(minutesUpTo({ uptime: 600 }, 10))]);
    const [first] = await store.unreviewed();
    expect(first).toMatchObject({ unit: cushion, earliest: at(0) });
    mark(first?.throughMessage ?? 0);
    expect(await store.unreviewed()).toEqual([]);
    await store.append([incoming(minutesUpTo({ sequence: 1, uptime: 1_200 }, 10))]);
    const afterRestart = createTelemetryStore(database);
    expect(await store.unreviewed()).toEqual(await afterRestart.unreviewed());
    expect((await store.unreviewed())[0]?.earliest).toBe(at(10));
  });

  it("knows when each unit was last recording, by its own account", async () => {
    await store.append([incoming(minutesUpTo({ uptime: 600 }, 10), at(5_000))]);
    expect(await store.lastRecordedAt([cushion])).toEqual(new Map([[cushion, at(10)]]));
  });
});
