import { describe, expect, it } from "vitest";
import { decodeUplink } from "../../firmware-protocol/src/decode.ts";
import { encodeUplink } from "../../firmware-protocol/src/encode.ts";
import type { UplinkKind, UplinkMessage } from "../../firmware-protocol/src/messages.ts";
import type { CushionSpec } from "../../scripts/simulated-cushions/cushion-spec.ts";
import { day, hour } from "../../scripts/simulated-cushions/wall-clock.ts";
import { live, soundCushion, start, steadyPerson } from "./cast.ts";

type Of<Kind extends UplinkKind> = Extract<UplinkMessage, { kind: Kind }>;
const all = <Kind extends UplinkKind>(messages: readonly UplinkMessage[], kind: Kind): Of<Kind>[] =>
  messages.filter((message): message is Of<Kind> => message.kind === kind);
const lived = (spec: Partial<CushionSpec> = {}, days = 4) => live({ days, spec }).cushion.store.messages;

describe("what a cushion tells of itself, as hardware would", () => {
  const messages = lived();

  it("can be encoded and read again, each and every message", () => {
    for (const message of messages) expect(decodeUplink(encodeUplink(message))).toEqual(message);
  });

  it("tells the start and the end of each charge, in turn, and a voltage step about once a day", () => {
    const power = all(messages, "power");
    const charges = power.filter(({ event }) => event.startsWith("charge-"));
    expect(charges.length).toBeGreaterThan(3);
    charges.forEach(({ event }, at) => {
      expect(event).toBe(at % 2 === 0 ? "charge-start" : "charge-end");
    });
    const steps = power.filter(({ event }) => event === "voltage-step");
    expect(steps.length).toBeGreaterThanOrEqual(3);
    expect(steps.length).toBeLessThanOrEqual(5);
    for (const { step } of steps) {
      const ohms = step && (step.restMillivolts - step.loadMillivolts) / step.burstMilliamperes;
      expect(ohms).toBeGreaterThan(0.1);
      expect(ohms).toBeLessThan(0.2);
    }
  });

  it("tells its relay's heartbeat about hourly, under a name that is not its own", () => {
    const beats = all(messages, "relay");
    expect(beats.length).toBeGreaterThan(60);
    expect(new Set(beats.map(({ relay }) => relay)).size).toBe(1);
    expect(beats[0]?.relay).not.toBe(soundCushion.serial);
  });

  it("tests its grid once a day, and passes where nothing is broken", () => {
    const tests = all(messages, "self-test");
    expect(tests).toHaveLength(4);
    expect(tests.every(({ passed, command }) => passed && command === undefined)).toBe(true);
  });

  it("names of each prompt that was followed the very relief that began within five minutes of it", () => {
    const prompts = all(messages, "prompt");
    const followed = prompts.filter(({ followedBySequence }) => followedBySequence !== null);
    expect(followed.length).toBeGreaterThan(5);
    expect(prompts.length).toBeGreaterThan(followed.length);
    for (const prompt of followed) {
      const relief = all(messages, "relief").find(
        ({ boot, sequence }) => boot === prompt.boot && sequence === prompt.followedBySequence,
      );
      const wait = (relief?.startUptimeSeconds ?? 0) - prompt.givenUptimeSeconds;
      expect(wait).toBeGreaterThanOrEqual(0);
      expect(wait).toBeLessThanOrEqual(300);
    }
  });

  it("says of each relief what the sides carried, and why of one that was broken off", () => {
    const reliefs = all(messages, "relief");
    expect(reliefs.every(({ sideLoadPercent }) => sideLoadPercent !== undefined)).toBe(true);
    expect(reliefs.every(({ complete, brokenOff }) => complete && brokenOff === undefined)).toBe(true);
    const { habits } = steadyPerson;
    const holdSeconds = { mean: 58, deviation: 10 };
    const person = { ...steadyPerson, habits: { ...habits, reliefs: { ...habits.reliefs, holdSeconds } } };
    const short = all(live({ days: 3, person }).cushion.store.messages, "relief");
    expect(short.some(({ complete }) => complete)).toBe(true);
    expect(short.some(({ brokenOff }) => brokenOff === "sat-back")).toBe(true);
    for (const { complete, brokenOff } of short) expect(brokenOff === undefined).toBe(complete);
    const left = reliefs.find(({ relief }) => relief === "lean-left")?.sideLoadPercent;
    expect(left && left.right < left.left).toBe(true);
  });
});

describe("a fault shows in what the cushion tells", () => {
  const from = start + 6 * hour;

  it("a broken column fails the daily test by name, and one alarm is raised", () => {
    const messages = lived({ faults: [{ kind: "column-open", from, column: 4 }] });
    const last = all(messages, "self-test").at(-1);
    expect(last).toMatchObject({ passed: false, failedColumns: [4] });
    expect(all(messages, "fault").filter(({ fault }) => fault === "grid-self-test")).toHaveLength(1);
  });

  it("a cell that heats up on charge waits above 45 °C and says so", () => {
    const messages = lived({ faults: [{ kind: "charge-heat", from, celsius: 34 }] });
    const hot = all(messages, "power").filter(({ event }) => event === "charge-too-hot");
    expect(hot.length).toBeGreaterThan(0);
    for (const { temperatureDecicelsius } of hot) expect(temperatureDecicelsius).toBeGreaterThanOrEqual(430);
  });

  it("a charger in the cold feeds nothing, and says why", () => {
    const faults = [{ kind: "cold-place", from: start, until: start + 9 * day, celsius: -4 }] as const;
    const events = all(lived({ faults }), "power").map(({ event }) => event);
    expect(events).toContain("charge-too-cold");
    expect(events).not.toContain("charge-start");
  });

  it("a protection circuit that trips early cuts off with charge left, and says it before it is gone", () => {
    const person = {
      ...steadyPerson,
      habits: { ...steadyPerson.habits, charging: { atBedtime: 0, daytime: [] } },
    };
    const spec = { faults: [{ kind: "early-cut-off", from, millivolts: 3_950 }] as const };
    const { messages } = live({ days: 4, person, spec }).cushion.store;
    const cutOff = all(messages, "power").find(({ event }) => event === "cut-off");
    expect(cutOff?.cellMillivolts).toBeGreaterThan(3_800);
    const after = messages.filter(
      ({ boot, sequence }) => boot === cutOff?.boot && sequence > cutOff.sequence,
    );
    expect(after.map(({ kind }) => kind).filter((kind) => kind === "power")).toEqual([]);
    expect(after.length).toBeLessThan(5);
  });

  it("liquid in the cover shows as humidity and as an alarm", () => {
    const messages = lived({ faults: [{ kind: "wet", from, until: from + 3 * hour }] });
    expect(all(messages, "fault").map(({ fault }) => fault)).toContain("wet");
    const humid = all(messages, "minutes").flatMap(({ minutes }) =>
      minutes.map((m) => m.humidityPercent ?? 0),
    );
    expect(Math.max(...humid)).toBe(98);
    expect(humid.filter((humidity) => humidity === 98)).toHaveLength(180);
  });

  it("a relay cut off from the programme says so itself, and one that was off has started anew", () => {
    const outages = [
      { what: "network", from: start + 10 * hour, until: start + 14 * hour },
      { what: "relay", from: start + 30 * hour, until: start + 33 * hour },
    ] as const;
    const beats = all(lived({ radio: { ...soundCushion.radio, outages } }), "relay");
    const links = beats.map(({ link }) => link);
    expect(links).toContain("down");
    expect(links.at(-1)).toBe("up");
    const restarts = beats.filter(
      ({ relayUptimeSeconds }, at) => (relayUptimeSeconds ?? 0) < (beats[at - 1]?.relayUptimeSeconds ?? 0),
    );
    expect(restarts).toHaveLength(1);
  });

  it("a certificate that nobody renewed is told of 30, 14, 7 and 1 days before its end, once each", () => {
    const { cushion } = live({ days: 0 });
    const ends = Math.floor((start + 40 * day) / 1_000);
    cushion.certificateIs(ends);
    cushion.receive({ kind: "receipt", stored: [], serverUnixSeconds: Math.floor(start / 1_000) }, start);
    const due = all(cushion.advance(start + 40 * day), "notice");
    const daysLeft = due.map(({ wallSeconds }) => Math.ceil((ends - (wallSeconds ?? 0)) / 86_400 - 0.01));
    expect(daysLeft).toEqual([30, 14, 7, 1]);
  });
});
