import { createHash } from "node:crypto";
import { describe, expect, it } from "vitest";
import { decodeUplink } from "../../firmware-protocol/src/decode.ts";
import { encodeUplink } from "../../firmware-protocol/src/encode.ts";
import type { Minutes, UplinkMessage } from "../../firmware-protocol/src/messages.ts";
import { day, hour } from "../../scripts/simulated-cushions/wall-clock.ts";
import { live, start, steadyPerson } from "./cast.ts";

const digest = (messages: readonly UplinkMessage[]): string => {
  const hash = createHash("sha256");
  for (const message of messages) hash.update(encodeUplink(message));
  return hash.digest("hex");
};

const minuteMessages = (messages: readonly UplinkMessage[]): Minutes[] =>
  messages.filter((message) => message.kind === "minutes");

describe("a simulated cushion", () => {
  it("says the same, byte for byte, when it lives the same days from the same seed", () => {
    const once = digest(live({ days: 2, seed: "a" }).cushion.store.messages);
    expect(digest(live({ days: 2, seed: "a" }).cushion.store.messages)).toBe(once);
    expect(digest(live({ days: 2, seed: "b" }).cushion.store.messages)).not.toBe(once);
  });

  it("doesn't depend on how its time is cut into steps", () => {
    const inOne = live({ days: 1 });
    const inMany = live({ days: 0 });
    for (let at = start; at <= start + day; at += 0.37 * hour) inMany.cushion.advance(at);
    inMany.cushion.advance(start + day);
    expect(digest(inMany.cushion.store.messages)).toBe(digest(inOne.cushion.store.messages));
  });

  it("writes only messages that the protocol reads back as they were", () => {
    for (const message of live({ days: 1 }).cushion.store.messages) {
      expect(decodeUplink(encodeUplink(message))).toEqual(message);
    }
  });

  it("numbers messages without a hole and covers every minute it was on, once", () => {
    const { messages } = live({ days: 3 }).cushion.store;
    expect(messages.map((message) => message.sequence)).toEqual(messages.map((_, index) => index));
    let next = 0;
    for (const message of minuteMessages(messages)) {
      expect(message.firstUptimeSeconds).toBe(next);
      next += message.minutes.length * 60;
    }
    // The last report leaves less than an hour untold.
    expect(next / 3_600).toBeGreaterThan(71 - 0.1);
  });

  it("sees each full relief of a sound cushion, as the truth tells it", () => {
    const { cushion, truth } = live({ days: 4 });
    const done = truth.events.filter((event) => event.what === "relief");
    const told = cushion.store.messages.filter((message) => message.kind === "relief" && message.complete);
    expect(done.length).toBeGreaterThan(60);
    expect(told.length / done.length).toBeGreaterThan(0.9);
    expect(told.length / done.length).toBeLessThan(1.05);
  });

  it("counts no small weight shift as a relief", () => {
    const { truth } = live({ days: 4 });
    const shifts = truth.events.filter((event) => event.what === "weight-shift");
    expect(shifts.length).toBeGreaterThan(40);
    expect(shifts.filter((event) => event.what === "weight-shift" && event.seen)).toEqual([]);
  });

  it("notes no signal while its relay is away, good signal while only the home's network is down", () => {
    const from = start + 6 * hour;
    const until = start + 12 * hour;
    const signalsDuring = (what: "relay" | "network"): (number | null)[] => {
      const radio = { signal: { mean: -60, deviation: 3 }, outages: [{ what, from, until }] };
      const { messages } = live({ days: 1, spec: { radio } }).cushion.store;
      return minuteMessages(messages).flatMap((message) =>
        message.minutes
          .filter((_, index) => {
            const at = start + (message.firstUptimeSeconds + index * 60) * 1_000;
            return at > from + 60_000 && at < until - 60_000;
          })
          .map((minute) => minute.signalDecibelMilliwatts),
      );
    };
    expect(new Set(signalsDuring("relay"))).toEqual(new Set([null]));
    expect(signalsDuring("network")).not.toContain(null);
  });

  it("says nothing while somebody has switched it off, and why once it is back", () => {
    const absence = {
      from: start + 5 * hour,
      until: start + 29 * hour,
      why: "hospital",
      switchedOffAfterMinutes: 30,
    } as const;
    const person = { ...steadyPerson, absences: [absence] };
    const { messages } = live({ days: 2, person }).cushion.store;
    const hellos = messages.filter((message) => message.kind === "hello");
    expect(hellos.map((hello) => hello.reset)).toEqual(["power-on", "user-off"]);
    expect(hellos[1]?.wallSeconds).toBeGreaterThanOrEqual(absence.until / 1_000);
  });
});
