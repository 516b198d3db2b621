import type { DownlinkMessage, ResetReason, UplinkMessage } from "../../firmware-protocol/src/messages.ts";
import type { UnreadableCommand } from "../../firmware-protocol/src/unreadable-command.ts";
import { Battery, type BatteryStart } from "./battery.ts";
import type { Fault, RadioSurroundings } from "./faults.ts";
import { Firmware, type GreetingDetails } from "./firmware.ts";
import { MessageWriter, type PlanInForce } from "./message-writer.ts";
import { Obedience, type Obedient } from "./obedience.ts";
import { OnAndOff } from "./on-and-off.ts";
import { PowerWatch } from "./power-watch.ts";
import { randomFrom } from "./random.ts";
import { RelayWatch } from "./relay-watch.ts";
import type { ReliefAct } from "./relief-acts.ts";
import type { GridModel } from "./seat-load.ts";
import { SelfChecks } from "./self-checks.ts";
import { type Senses, senseSeat } from "./senses.ts";
import { SensorGrid } from "./sensor-grid.ts";
import { Sitter, type Situation } from "./sitter.ts";
import { MessageStore } from "./store.ts";
import { Surroundings } from "./surroundings.ts";
import type { TruthEvent, TruthSink } from "./truth.ts";
import { UnitClock } from "./unit-clock.ts";
import { day, type Moment, minute, second } from "./wall-clock.ts";

export interface CushionSpec {
  readonly serial: string;
  readonly firmware: string;
  readonly hardware: string;
  readonly grid: GridModel;
  readonly battery: BatteryStart;
  readonly storeLimit: number;
  readonly clockDriftPartsPerMillion: number;
  readonly faults: readonly Fault[];
  readonly radio: RadioSurroundings;
  /** false: it has no part to measure humidity with. */
  readonly humidity?: boolean;
}

/** One cushion under one person, in virtual time. Pure: the same seed and the same receipts give the same messages. */
export class SimulatedCushion {
  readonly spec: CushionSpec;
  readonly store: MessageStore;
  readonly #sitter: Sitter;
  readonly #grid: SensorGrid;
  readonly #battery: Battery;
  readonly #clock: UnitClock;
  readonly #writer: MessageWriter;
  readonly #obedience: Obedience;
  readonly #firmware: Firmware;
  readonly #surroundings: Surroundings;
  readonly #power: PowerWatch;
  readonly #relay: RelayWatch;
  readonly #checks: SelfChecks;
  readonly #onAndOff: OnAndOff;
  readonly #truth: TruthSink;
  readonly #startedAt: Moment;
  #now: Moment;
  #state: "running" | "flat" | "switched-off" = "running";
  /** The longest the protocol lets a unit wait that can reach its relay (FP-6.18). */
  #reportEveryMinutes = 15;

  constructor(spec: CushionSpec, situation: Situation, seed: string, startsAt: Moment, truth: TruthSink) {
    this.spec = spec;
    this.#truth = truth;
    const own = `${seed}/${spec.serial}`;
    this.#grid = new SensorGrid(spec.grid, spec.faults, own);
    this.#battery = new Battery(spec.battery);
    this.#sitter = new Sitter(situation, randomFrom(`${own}/posture`), (at, event) => this.#tell(at, event));
    this.#surroundings = new Surroundings(spec.radio, situation.zone, randomFrom(`${own}/surroundings`));
    this.store = new MessageStore(spec.storeLimit);
    this.#startedAt = startsAt;
    this.#now = startsAt;
    this.#clock = new UnitClock(spec.clockDriftPartsPerMillion, startsAt);
    this.#writer = new MessageWriter(spec.serial, this.#clock, this.store);
    this.#obedience = new Obedience(this.#writer, this.store, this.#clock, this.#hands());
    this.#firmware = new Firmware(this.#writer, {
      firmware: spec.firmware,
      hardware: spec.hardware,
      grid: spec.grid,
      offsets: this.#grid.factoryOffsets,
    });
    this.#power = new PowerWatch(this.#battery, this.#writer, spec.faults);
    this.#onAndOff = new OnAndOff(
      { battery: this.#battery, power: this.#power, sitter: this.#sitter },
      spec.faults,
      randomFrom(`${own}/watchdog`),
    );
    this.#relay = new RelayWatch(this.#writer);
    this.#checks = new SelfChecks(this.#writer, this.#firmware, this.#grid, spec.faults);
    this.#boot("power-on", true);
    this.#surroundings.step(startsAt, this.#sitter.doing, false);
  }

  /** Minutes are told this often: 1 while somebody is looking on. */
  reportEvery(minutes: number): void {
    this.#reportEveryMinutes = minutes;
  }

  /** It was given a certificate that ends then. */
  certificateIs(notAfterUnixSeconds: number): void {
    this.#checks.certificateIs(notAfterUnixSeconds);
  }

  follow(plan: PlanInForce): void {
    this.#firmware.follow(plan);
  }

  /** Whether a message sent at `at`, up to which the cushion has advanced, would reach the programme. */
  mayDeliver(at: Moment): boolean {
    return this.#state === "running" && this.#surroundings.mayDeliver(at);
  }

  /** @param request for the command to renew its certificate: PKCS#10 for a new key, DER */
  receive(message: DownlinkMessage, at: Moment, request: Uint8Array | null = null): void {
    if (message.kind === "plan") {
      this.#firmware.hear(message);
      return;
    }
    if (message.kind === "command") {
      if (this.#state === "running") this.#obedience.take(message, at, request);
      return;
    }
    if (message.kind !== "receipt") return;
    this.store.forget(message);
    this.#clock.set(message.serverUnixSeconds, at);
    this.#obedience.receipted(at);
  }

  receiveUnreadable(command: UnreadableCommand, at: Moment): void {
    if (this.#state === "running") this.#obedience.refuse(command, at);
  }

  #hands(): Obedient {
    return {
      picture: (_, uptime) => this.#firmware.picture(uptime),
      report: (_, uptime) => {
        this.#firmware.report(uptime);
        this.#firmware.hello(uptime, this.#greeting());
      },
      selfTest: (_, uptime, command) => this.#checks.test(this.#now, uptime, command),
      follows: (version) => this.#firmware.follows(version),
      forgetAll: () => {
        this.#firmware.forget();
        this.#relay.boot();
      },
    };
  }

  /** Connected again after a long time out of touch. */
  greet(at: Moment): void {
    this.#firmware.hello(this.#clock.uptimeAt(at), this.#greeting());
  }

  #greeting(): GreetingDetails {
    const [oldest] = this.store.messages;
    const { certificateEnds } = this.#checks;
    const relay = this.#surroundings.relayAt(this.#now, this.#ownRelay);
    return {
      queued: this.store.length,
      ...(oldest === undefined ? {} : { oldestUnsent: { boot: oldest.boot, sequence: oldest.sequence } }),
      storeCapacityMessages: this.store.limit,
      ...(certificateEnds === null ? {} : { certificateNotAfter: certificateEnds }),
      ...(relay === null ? {} : { relay: relay.name }),
    };
  }

  /** Plugged in some weeks before, in a home of its own. */
  get #ownRelay() {
    const name = `R-${this.spec.serial.slice(-6)}`;
    return { name, tellsLink: true, startedAt: this.#startedAt - 40 * day };
  }

  /** Somebody pressed the button that makes a unit send what it has, as before it is taken away. */
  sendNow(at: Moment): void {
    if (this.#state === "running") this.#firmware.report(this.#clock.uptimeAt(at));
  }

  /** Lives on until `until`.
   *  @returns everything that now waits in the store, oldest first */
  advance(until: Moment): readonly UplinkMessage[] {
    for (let end = this.#endOfMinute(); end <= until; end = this.#endOfMinute()) {
      this.#liveOneMinute(this.#now);
      this.#now = end;
    }
    return this.store.messages;
  }

  /** A running unit's minutes are its own; one that is off has none. */
  #endOfMinute(): Moment {
    if (this.#state !== "running") return this.#now + minute;
    return this.#clock.trueTimeOf(this.#clock.uptimeAt(this.#now + second / 2) + 60);
  }

  #liveOneMinute(at: Moment): void {
    const act = this.#sitter.live(at);
    const { doing } = this.#sitter;
    const running = this.#state === "running";
    const mayCharge = this.#power.mayCharge(at, this.#surroundings.celsius);
    const charging = doing.chargerIn && mayCharge && !this.#battery.full;
    this.#surroundings.step(at, doing, charging);
    const activity = !running ? "off" : doing.seated ? "loaded" : "empty";
    this.#wear(at);
    this.#battery.step(60, activity, this.#surroundings.signal === null, doing.chargerIn && mayCharge);
    if (!running) {
      this.#tellAct(act, null);
      this.#restartIfPossible(at + minute);
      return;
    }
    const uptime = this.#clock.uptimeAt(at + second / 2);
    const senses = this.#sense(at, act, charging);
    const { prompted, seen } = this.#firmware.minute(uptime, senses);
    this.#tellAct(act, seen);
    if (prompted) this.#sitter.prompted(at + minute);
    this.#obedience.timePassed(at + minute);
    this.#power.minute(uptime + 60, doing.chargerIn, charging, senses.signal !== null);
    this.#relay.minute(uptime + 60, this.#surroundings.relayAt(at, this.#ownRelay));
    this.#checks.minute(at, uptime + 60, senses.humidity, this.#clock.wallSecondsAt(uptime + 60));
    if (this.#reportIsDue(uptime + 60)) this.#firmware.report(uptime + 60);
    this.#stopIfNeeded(at, uptime + 60);
  }

  #sense(at: Moment, act: ReliefAct | null, charging: boolean): Senses {
    const parts = { grid: this.#grid, sitter: this.#sitter, clock: this.#clock };
    return {
      ...senseSeat(parts, at, this.#surroundings.celsius, act),
      cellMillivolts: this.#battery.millivolts,
      power: charging
        ? "charging"
        : this.#sitter.doing.chargerIn && this.#battery.full
          ? "charged"
          : "on-battery",
      signal: this.#surroundings.signal,
      humidity:
        this.spec.humidity === false ? null : this.#checks.humidityAt(at, this.#surroundings.humidity),
    };
  }

  /** On the hour by the unit's own clock, so that a home's radio is quiet in between. */
  #reportIsDue(uptime: number): boolean {
    // Out of reach nobody looks on, and the store has to last.
    const every = this.#surroundings.signal === null ? 60 : this.#reportEveryMinutes;
    if (this.#writer.pendingMinutes >= every) return true;
    const wall = this.#clock.wallSecondsAt(uptime);
    return every === 60 && wall !== null && Math.floor(wall / 60) % 60 === 0;
  }

  #stopIfNeeded(at: Moment, uptime: number): void {
    switch (this.#onAndOff.stopAt(at)) {
      case "switched-off":
        this.#firmware.report(uptime);
        this.#state = "switched-off";
        this.#tell(at, { what: "switched-off" });
        return;
      case "flat":
        this.#power.cutOff(uptime);
        this.#firmware.cutOff(uptime, this.#battery.millivolts);
        this.#state = "flat";
        this.#tell(at, { what: "ran-flat" });
        return;
      case "watchdog":
        this.#firmware.report(uptime);
        this.#now = at + minute;
        this.#boot("watchdog", false);
        return;
      case null:
    }
  }

  #wear(at: Moment): void {
    for (const fault of this.spec.faults) {
      if (fault.kind === "capacity-fade" && fault.from <= at)
        this.#battery.fade((fault.sharePerDay * minute) / day, fault.downTo);
    }
  }

  #restartIfPossible(at: Moment): void {
    if (this.#state === "running" || !this.#onAndOff.mayStart(this.#state, at)) return;
    this.#now = at;
    if (this.#state === "flat") this.#boot("brown-out", true);
    else this.#boot("user-off", this.#battery.flat);
  }

  #boot(reason: ResetReason, lostPower: boolean): void {
    this.#state = "running";
    this.#clock.restart(this.#now, lostPower);
    this.#firmware.boot(reason, this.#clock.isSet, this.#greeting());
    this.#power.boot();
    this.#relay.boot();
    this.#checks.boot();
    this.#tell(this.#now, { what: "booted", boot: this.#writer.boot, reason });
  }

  #tellAct(act: ReliefAct | null, seen: boolean | null): void {
    if (!act) return;
    this.#tell(act.startsAt, {
      what: act.shift ? "weight-shift" : "relief",
      kind: act.kind,
      holdSeconds: act.holdSeconds,
      depthPercent: Math.round(act.depth * 100),
      seen,
    });
  }

  #tell(at: Moment, event: TruthEvent): void {
    this.#truth.tell({ at, unit: this.spec.serial, ...event });
  }
}
