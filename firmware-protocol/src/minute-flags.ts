import { type MinuteRecord, type PowerState, powerStates } from "./messages.ts";

/** [FP-5.7] One byte a minute: bit 0 loaded, bits 1 and 2 power state, bit 3 relay reachable, the rest 0. */
const loadedBit = 0x01;
const powerShift = 1;
const powerMask = 0x03;
const relayBit = 0x08;
const unusedBits = 0xf0;

export const isLoaded = (flags: number): boolean => (flags & loadedBit) !== 0;
export const isRelayReachable = (flags: number): boolean => (flags & relayBit) !== 0;
export const powerOf = (flags: number): PowerState =>
  powerStates[(flags >> powerShift) & powerMask] ?? "on-battery";

export function flagsOf(minute: MinuteRecord): number {
  const power = powerStates.indexOf(minute.power);
  if (power < 0) throw new RangeError(`power: ${minute.power} is not one of ${powerStates.join(", ")}`);
  const loaded = minute.loaded ? loadedBit : 0;
  const relay = minute.signalDecibelMilliwatts === null ? 0 : relayBit;
  return loaded | (power << powerShift) | relay;
}

export function flagsProblem(states: Uint8Array): string | null {
  for (const [minute, flags] of states.entries()) {
    if ((flags & unusedBits) !== 0) return `minute ${minute} sets a bit that has no meaning`;
    if (((flags >> powerShift) & powerMask) >= powerStates.length)
      return `minute ${minute} has power state 3`;
  }
  return null;
}
