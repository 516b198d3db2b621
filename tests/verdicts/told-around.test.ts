import { describe, expect, it } from "vitest";
import {
  nothingElseTold,
  type RecordedPowerEvent,
  type RelayHeartbeat,
  type ToldEvents,
} from "../../server/domain/record/told-events.ts";
import { celsius, decibelMilliwatts, instant, millivolts } from "../../server/domain/units.ts";
import { toldAround } from "../../server/domain/verdicts/told-around.ts";

const midnight = Date.UTC(2026, 4, 4);
const at = (minute: number) => instant(midnight + minute * 60_000);
const gap = { start: at(600), end: at(900) };
const around = (told: Partial<ToldEvents>) => toldAround({ ...nothingElseTold, ...told }, gap);
const named = (minute: number) => ({ at: at(minute), receivedAt: at(minute), boot: 1, sequence: minute });

const heartbeat = (minute: number, told: Partial<RelayHeartbeat> = {}): RelayHeartbeat => ({
  ...named(minute),
  relay: "R-1",
  relayStartedAt: at(0),
  link: "up",
  signal: decibelMilliwatts(-60),
  ...told,
});
const power = (minute: number, told: Partial<RecordedPowerEvent>): RecordedPowerEvent => ({
  ...named(minute),
  event: "charge-end",
  cell: millivolts(3_600),
  temperature: celsius(22),
  ended: null,
  step: null,
  ...told,
});

describe("what a unit told around a gap", () => {
  it("is nothing at all of a unit that tells nothing, not even of a relay", () => {
    expect(around({})).toEqual({
      relay: null,
      cutOffAt: null,
      lastCharge: null,
      onReturn: null,
      overrun: 0,
      prompts: { given: 0, followed: 0 },
    });
  });

  it("says that the relay lost its own link, from the relay's mouth and not from the silence", () => {
    const relayHeartbeats = [heartbeat(590), heartbeat(700, { link: "down" }), heartbeat(905)];
    expect(around({ relayHeartbeats }).relay).toMatchObject({ before: "up", saidDown: true, after: "up" });
  });

  it("dates a restart of the relay within the gap, and no other", () => {
    expect(around({ relayHeartbeats: [heartbeat(590), heartbeat(905)] }).relay?.restartedAt).toBeNull();
    const restarted = heartbeat(905, { relayStartedAt: at(880) });
    expect(around({ relayHeartbeats: [heartbeat(590), restarted] }).relay?.restartedAt).toBe(at(880));
  });

  it("notices that the unit came back through another relay", () => {
    const relayHeartbeats = [heartbeat(590), heartbeat(905, { relay: "R-2" })];
    expect(around({ relayHeartbeats }).relay?.changed).toBe(true);
  });

  it("takes a cut-off only where the silence follows it", () => {
    const cutOff = (minute: number) =>
      around({ powerEvents: [power(minute, { event: "cut-off" })] }).cutOffAt;
    expect(cutOff(600)).toBe(at(600));
    expect(cutOff(300)).toBeNull();
    expect(cutOff(800)).toBeNull();
  });

  it("counts prompts given within it, which prove that the unit ran", () => {
    const prompt = (minute: number, followed: boolean) => ({
      ...named(minute),
      planVersion: 1,
      followedBy: followed ? { at: null } : null,
    });
    const prompts = [prompt(500, true), prompt(650, true), prompt(700, false), prompt(950, true)];
    expect(around({ prompts }).prompts).toEqual({ given: 2, followed: 1 });
  });
});
