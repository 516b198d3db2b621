import type { ReadGate } from "./read-gate.ts";

/** What one unit may send: this many messages a second for ever, after as many at once as a few days of an outage
 *  bring. An honest unit never meets the limit for long. */
const messagesPerSecond = 250;
const mostAtOnce = 4_000;
/** Of one unit, not yet committed. */
const mostWaitingOfUnit = 128 * 1024;
/** Of all units together: above this whoever is catching up is not read from, ... */
const backlogWaits = 24 * 1024 * 1024;
/** ... and above this nobody is. */
const allWait = 40 * 1024 * 1024;
const lookAgainMilliseconds = 25;

/** One connection's part in the flow. */
export class UnitFlow {
  readonly gate: ReadGate;
  #tokens = mostAtOnce;
  #countedAt: number;
  waitingBytes = 0;
  isCatchingUp = false;

  constructor(gate: ReadGate, now: number) {
    this.gate = gate;
    this.#countedAt = now;
  }

  tokensAt(now: number): number {
    const earned = ((now - this.#countedAt) * messagesPerSecond) / 1_000;
    this.#tokens = Math.min(mostAtOnce, this.#tokens + earned);
    this.#countedAt = now;
    return this.#tokens;
  }

  spendAt(now: number): void {
    this.#tokens = this.tokensAt(now) - 1;
  }

  /** It has sent far more than its share lately, whatever it says its messages are. */
  isGreedyAt(now: number): boolean {
    return this.tokensAt(now) < mostAtOnce / 2;
  }
}

export interface FlowFigures {
  /** Connections that aren't read from at the moment. */
  readonly held: number;
  /** How often a unit was slowed for sending too much, and for want of room. */
  readonly slowed: number;
  readonly heldForRoom: number;
}

/** Decides whose bytes are read. It never drops any: a unit that is slowed keeps what it has and sends it later. */
export class FlowControl {
  readonly #waitingBytes: () => number;
  readonly #now: () => number;
  readonly #held = new Set<UnitFlow>();
  #timer: NodeJS.Timeout | null = null;
  #slowed = 0;
  #heldForRoom = 0;

  /** @param waitingBytes of all units together @param now milliseconds that never go back */
  constructor(waitingBytes: () => number, now: () => number = () => performance.now()) {
    this.#waitingBytes = waitingBytes;
    this.#now = now;
  }

  open(gate: ReadGate): UnitFlow {
    return new UnitFlow(gate, this.#now());
  }

  figures(): FlowFigures {
    return { held: this.#held.size, slowed: this.#slowed, heldForRoom: this.#heldForRoom };
  }

  isGreedy(flow: UnitFlow): boolean {
    return flow.isGreedyAt(this.#now());
  }

  taken(flow: UnitFlow, bytes: number, isBacklog: boolean): void {
    flow.waitingBytes += bytes;
    flow.isCatchingUp = isBacklog;
    flow.spendAt(this.#now());
    const why = this.#reasonToHold(flow);
    if (why === null || flow.gate.isClosed) return;
    if (why === "too-much") this.#slowed += 1;
    else this.#heldForRoom += 1;
    flow.gate.close();
    this.#held.add(flow);
    this.#timer ??= setInterval(() => this.release(), lookAgainMilliseconds).unref();
  }

  settled(flow: UnitFlow, bytes: number): void {
    flow.waitingBytes -= bytes;
  }

  /** Reads again from whom there is no reason to hold; called by itself every so often. */
  release(): void {
    for (const flow of this.#held) {
      if (this.#reasonToHold(flow) !== null) continue;
      this.#held.delete(flow);
      flow.gate.open();
    }
    if (this.#held.size === 0) this.stop();
  }

  ended(flow: UnitFlow): void {
    this.#held.delete(flow);
  }

  stop(): void {
    if (this.#timer !== null) clearInterval(this.#timer);
    this.#timer = null;
  }

  #reasonToHold(flow: UnitFlow): "too-much" | "no-room" | null {
    if (flow.tokensAt(this.#now()) < 1) return "too-much";
    const all = this.#waitingBytes();
    if (flow.waitingBytes > mostWaitingOfUnit || all > allWait) return "no-room";
    return flow.isCatchingUp && all > backlogWaits ? "no-room" : null;
  }
}
