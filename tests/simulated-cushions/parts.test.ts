import { describe, expect, it } from "vitest";
import type { MinuteRecord } from "../../firmware-protocol/src/messages.ts";
import { Battery, openCircuitMillivolts } from "../../scripts/simulated-cushions/battery.ts";
import { MessageWriter } from "../../scripts/simulated-cushions/message-writer.ts";
import { randomFrom } from "../../scripts/simulated-cushions/random.ts";
import { MessageStore } from "../../scripts/simulated-cushions/store.ts";
import { UnitClock } from "../../scripts/simulated-cushions/unit-clock.ts";
import { day, hour } from "../../scripts/simulated-cushions/wall-clock.ts";
import { live, start, steadyHabits } from "./cast.ts";

describe("the battery", () => {
  // Chen et al. 2020, J. Electrochem. Soc. 167 080534: points of the LG M50 curve between those the table keeps.
  it("follows the published curve between the points it keeps, within 60 mV above 10 %", () => {
    const published = [
      [15, 3.43389],
      [25, 3.52856],
      [45, 3.7054],
      [65, 3.88959],
      [85, 4.08091],
      [95, 4.12355],
    ] as const;
    for (const [percent, volts] of published) {
      expect(Math.abs(openCircuitMillivolts(percent / 100) - volts * 1_000)).toBeLessThan(60);
    }
  });

  it("lasts several days on one charge, shorter when worn, and gives back what is charged into it", () => {
    const hoursUntilFlat = (health: number): number => {
      const battery = new Battery({ ratedMilliampHours: 1_200, health, charge: 1 });
      let minutes = 0;
      while (!battery.flat) {
        battery.step(60, minutes % 1_440 < 600 ? "loaded" : "empty", false, false);
        minutes += 1;
      }
      return minutes / 60;
    };
    const fresh = hoursUntilFlat(1);
    expect(fresh).toBeGreaterThan(4 * 24);
    expect(hoursUntilFlat(0.6) / fresh).toBeCloseTo(0.6, 1);
    const battery = new Battery({ ratedMilliampHours: 1_200, health: 1, charge: 0.05 });
    for (let minutes = 0; minutes < 6 * 60; minutes += 1) battery.step(60, "empty", false, true);
    expect(battery.full).toBe(true);
  });

  it("holds less and less where its cell fails, down to where the failing stops", () => {
    const battery = new Battery({ ratedMilliampHours: 1_000, health: 0.95, charge: 0.5 });
    battery.fade(0.2, 0.5);
    expect(battery.capacityMilliampHours).toBeCloseTo(750, 5);
    battery.fade(0.9, 0.5);
    expect(battery.capacityMilliampHours).toBeCloseTo(500, 5);
  });

  it("runs flat where nobody charges it: cut-off told, silence, no time of day, and a brown-out once charged", () => {
    const uncharged = { ...steadyHabits, charging: { atBedtime: 0, daytime: [] } };
    const back = start + 8 * day;
    const person = {
      habits: uncharged,
      changes: [{ from: back, until: null, charging: { atBedtime: 1 } }],
      absences: [],
    };
    const { cushion, truth } = live({ days: 10, person });
    const ranFlat = truth.events.find((event) => event.what === "ran-flat");
    expect(ranFlat?.at).toBeLessThan(back);
    const { messages } = cushion.store;
    const secondHello = messages.findIndex((message) => message.kind === "hello" && message.boot === 2);
    const lastWords = messages[secondHello - 1];
    expect(lastWords).toMatchObject({ kind: "fault", fault: "battery-cut-off" });
    expect(messages[secondHello]).toMatchObject({ reset: "brown-out", wallSeconds: null });
    expect(messages[secondHello + 1]).toMatchObject({ kind: "fault", fault: "clock-lost" });
  });
});

const record: MinuteRecord = {
  loaded: false,
  power: "on-battery",
  loadHectograms: 0,
  centreRightPercent: 0,
  centreFrontPercent: 0,
  cellMillivolts: 3_800,
  temperatureDecicelsius: 210,
  signalDecibelMilliwatts: null,
};

describe("the on-board store", () => {
  const filled = (limit: number, count: number): MessageStore => {
    const store = new MessageStore(limit);
    const writer = new MessageWriter("CU-000901", new UnitClock(0, start), store);
    writer.startBoot();
    for (let index = 0; index < count; index += 1) {
      writer.addMinute(record, index * 60);
      writer.flushMinutes(index * 60 + 60);
    }
    return store;
  };

  it("never holds more than its limit and tells of every message that it dropped", () => {
    const store = filled(100, 1_000);
    expect(store.length).toBeLessThanOrEqual(100);
    const accounted = new Set<number>();
    for (const message of store.messages) {
      accounted.add(message.sequence);
      if (message.kind !== "fault" || !message.lost) continue;
      for (let lost = message.lost.fromSequence; lost <= message.lost.toSequence; lost += 1)
        accounted.add(lost);
    }
    const last = store.messages.at(-1)?.sequence ?? 0;
    expect(last).toBeGreaterThan(1_000);
    expect(accounted.size).toBe(last + 1);
  });

  it("forgets exactly what a receipt names, holes kept", () => {
    const store = filled(100, 20);
    store.forget({
      kind: "receipt",
      stored: [{ boot: 1, through: 14, holes: [[5, 7]] }],
      serverUnixSeconds: 0,
    });
    expect(store.messages.map((message) => message.sequence)).toEqual([5, 6, 7, 15, 16, 17, 18, 19]);
    store.forget({ kind: "receipt", stored: [{ boot: 2, through: 99, holes: [] }], serverUnixSeconds: 0 });
    expect(store.length).toBe(8);
  });
});

describe("the unit's clock", () => {
  it("knows no time of day before its first receipt, then drifts by its crystal's error", () => {
    const clock = new UnitClock(50, start);
    expect(clock.wallSecondsAt(100)).toBeNull();
    clock.set(start / 1_000, start);
    const later = start + 10 * day;
    const shown = clock.wallSecondsAt(clock.uptimeAt(later)) ?? 0;
    expect(shown - later / 1_000).toBeCloseTo(50e-6 * 10 * 86_400, 0);
    expect(clock.trueTimeOf(clock.uptimeAt(later))).toBeCloseTo(later, -4);
  });

  it("keeps the time over a reset and loses it with the battery", () => {
    const clock = new UnitClock(0, start);
    clock.set(start / 1_000, start);
    clock.restart(start + hour, false);
    expect(clock.wallSecondsAt(0)).toBe((start + hour) / 1_000);
    clock.restart(start + 2 * hour, true);
    expect(clock.wallSecondsAt(0)).toBeNull();
  });
});

describe("chance", () => {
  it("is even, repeatable, and of its own in each stream", () => {
    const random = randomFrom("x");
    const draws = Array.from({ length: 20_000 }, () => random.next());
    expect(draws.reduce((a, b) => a + b, 0) / draws.length).toBeCloseTo(0.5, 1);
    expect(randomFrom("x").next()).toBe(draws[0]);
    expect(randomFrom("y").next()).not.toBe(draws[0]);
    const normals = Array.from({ length: 20_000 }, () => random.normal(10, 3));
    const mean = normals.reduce((a, b) => a + b, 0) / normals.length;
    const variance = normals.reduce((sum, value) => sum + (value - mean) ** 2, 0) / normals.length;
    expect(mean).toBeCloseTo(10, 0);
    expect(Math.sqrt(variance)).toBeCloseTo(3, 0);
  });
});
