import { afterEach, beforeEach, expect, test } from "vitest";
import { encodeUplink } from "../../firmware-protocol/src/encode.ts";
import type { ReliefKind } from "../../firmware-protocol/src/messages.ts";
import { uplinkTopic } from "../../firmware-protocol/src/topics.ts";
import { loanId } from "../../server/domain/ids.ts";
import { addDays, instantAt, type LocalDay } from "../../server/domain/time/local-day.ts";
import { type Instant, instant } from "../../server/domain/units.ts";
import { loan } from "../../server/store/schema/loans.ts";
import { ledgerDay } from "../../server/store/schema/record.ts";
import { type TestServices, testServices, testZone, things } from "../support/cast.ts";
import { clinicApp, person } from "./clinic-app.ts";
import { recordedFortnight } from "./recorded-fortnight.ts";

const minute = 60_000;
let services: TestServices;
let gapDay: LocalDay;
let sequence = 0;

beforeEach(() => {
  services = testServices();
  ({ gapDay } = recordedFortnight(services));
  sequence = 0;
});
afterEach(() => services.close());

/** One relief of the lent unit, as it told of it. */
async function relief(at: Instant, kind: ReliefKind, hold: number, depth: number, complete = true) {
  const bootedAt = instantAt(addDays(gapDay, -5), 7, 0, testZone);
  const uptime = (at - bootedAt) / 1_000;
  const payload = encodeUplink({
    kind: "relief",
    unit: things.lentUnit,
    boot: 1,
    sequence: sequence++,
    uptimeSeconds: uptime + hold + 1,
    wallSeconds: Math.floor(at / 1_000) + hold + 1,
    relief: kind,
    startUptimeSeconds: uptime,
    holdSeconds: hold,
    depthPercent: depth,
    complete,
    prompted: false,
    ...(complete ? {} : { brokenOff: "sat-back" as const }),
  });
  const topic = uplinkTopic(things.lentUnit, "relief");
  await services.telemetry.append([
    { unit: things.lentUnit, topic, receivedAt: instant(at + 5 * minute), payload },
  ]);
}

/** Seven reliefs on each of two days before the gap's, and one that was broken off. */
async function reliefs() {
  const kinds = [
    "lean-left",
    "lean-left",
    "lean-right",
    "lift",
    "lean-left",
    "lean-right",
    "lean-forward",
  ] as const;
  for (const ago of [2, 1])
    for (const [index, kind] of kinds.entries())
      await relief(
        instantAt(addDays(gapDay, -ago), 9 + index, ago, testZone),
        kind,
        120 + 7 * index + 4 * ago,
        40 + 5 * index + 2 * ago,
      );
  await relief(instantAt(addDays(gapDay, -1), 17, 0, testZone), "lean-left", 20, 90, false);
}

/** The facts of "How they were made" as shown: words and the lines they open, once for each time lent. */
async function facts(query: string) {
  const { text } = await clinicApp(services).page(`${person}?${query}`);
  const part = /<section id="quality">(.*?)<\/section>/s.exec(text)?.[1] ?? "";
  const all = [...part.matchAll(/<a href="([^"]*figure=(\w+)[^"]*)">([^<]*)<\/a>/g)];
  return all.map(([, href = "", figure = "", shown = ""]) => ({
    figure,
    shown,
    href: href.replaceAll("&amp;", "&"),
  }));
}

async function lines(href: string) {
  const { text } = await clinicApp(services).page(href);
  const body = /<tbody>(.*?)<\/tbody>/s.exec(text)?.[1] ?? "";
  return [...body.matchAll(/<tr>(.*?)<\/tr>/gs)].map(([, row = ""]) => row);
}

/** By sorting, as a person would. */
function middle(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  const at = sorted.length / 2;
  return ((sorted[Math.ceil(at) - 1] ?? 0) + (sorted[Math.floor(at)] ?? 0)) / 2;
}
const numbers = (rows: readonly string[], pattern: RegExp) =>
  rows.map((row) => Number(pattern.exec(row)?.[1]));
const minutesOf = (rows: readonly string[]): number =>
  rows.reduce((sum, row) => {
    const [, fromHour, fromMinute, hour, minutes] = /(\d\d):(\d\d) to (\d\d):(\d\d)/.exec(row) ?? [];
    return sum + (Number(hour) - Number(fromHour)) * 60 + Number(minutes) - Number(fromMinute);
  }, 0);

test("hold, depth, left and right and the longest sit each open lines that make up the figure", async () => {
  await reliefs();
  const [complete, hold, depth, left, right, longest] = await facts("from=2026-04-26&to=2026-05-02");
  const opened = await lines(complete?.href ?? "");
  expect(opened).toHaveLength(14);
  expect(complete?.shown).toBe("14");
  expect(hold?.shown).toBe(`${Math.round(middle(numbers(await lines(hold?.href ?? ""), /held (\d+) s/)))} s`);
  expect(depth?.shown).toBe(
    `${Math.round(middle(numbers(await lines(depth?.href ?? ""), /; (\d+)\s%/)))}\u00a0%`,
  );
  for (const [side, words] of [
    [left, "lean to the left"],
    [right, "lean to the right"],
  ] as const) {
    const rows = await lines(side?.href ?? "");
    expect(rows).toHaveLength(Number(side?.shown));
    for (const row of rows) expect(row).toContain(words);
  }
  expect([left?.shown, right?.shown]).toEqual(["6", "4"]);
  expect(longest?.shown).toBe("12 h");
  expect(minutesOf(await lines(longest?.href ?? ""))).toBe(12 * 60);
});

test("a unit that was lent to the same person twice has figures for each time, and each opens its own lines", async () => {
  await reliefs();
  const first = services.db.select().from(loan).get();
  if (!first) throw new Error("no loan");
  const back = instantAt(addDays(gapDay, -1), 0, 0, testZone);
  services.db.update(loan).set({ endedAt: back }).run();
  const again = { ...first, id: loanId("loan_again"), reference: "L-0002" };
  services.db
    .insert(loan)
    .values({ ...again, openedAt: back, startedAt: back })
    .run();
  for (const row of services.db.select().from(ledgerDay).all())
    if (row.startsAt >= back)
      services.db
        .insert(ledgerDay)
        .values({ ...row, loanId: again.id })
        .run();
  const shown = (await facts("from=2026-04-26&to=2026-05-02")).filter(({ figure }) => figure === "left");
  expect(shown.map((one) => one.shown)).toEqual(["3", "3"]);
  for (const { href } of shown) expect(await lines(href)).toHaveLength(3);
});
