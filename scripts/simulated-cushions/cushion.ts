import type { DownlinkMessage } from "../../firmware-protocol/src/downlink.ts";
import type { ResetReason, UplinkMessage } from "../../firmware-protocol/src/messages.ts";
import type { UnreadableCommand } from "../../firmware-protocol/src/unreadable-command.ts";
import { Battery } from "./battery.ts";
import type { CushionSpec } from "./cushion-spec.ts";
import type { RelayPersona } from "./faults.ts";
import { Firmware } from "./firmware.ts";
import { type GreetingDetails, greeting } from "./greeting.ts";
import { MessageWriter, type PlanInForce } from "./message-writer.ts";
import { Obedience, type Obedient } from "./obedience.ts";
import { OnAndOff } from "./on-and-off.ts";
import { PowerWatch } from "./power-watch.ts";
import { randomFrom } from "./random.ts";
import { RelayWatch } from "./relay-watch.ts";
import { type ReliefAct, truthOf } from "./relief-acts.ts";
import { ReportPace } from "./report-pace.ts";
import { SelfChecks } from "./self-checks.ts";
import { type Senses, senseSeat } from "./senses.ts";
import { SensorGrid } from "./sensor-grid.ts";
import { Sitter, type Situation } from "./sitter.ts";
import { MessageStore } from "./store.ts";
import { Surroundings } from "./surroundings.ts";
import type { TruthEvent, TruthSink } from "./truth.ts";
import { UnitClock } from "./unit-clock.ts";
import { day, type Moment, minute, second } from "./wall-clock.ts";

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
  /** Plugged in some weeks before, in a home of its own. */
  readonly #ownRelay: RelayPersona;
  #now: Moment;
  #state: "running" | "flat" | "switched-off" = "running";
  readonly #pace = new ReportPace();

  constructor(spec: CushionSpec, situation: Situation, seed: string, startsAt: Moment, truth: TruthSink) {
    this.spec = spec;
    this.#truth = truth;
    const own = `${seed}/${spec.serial}`;
    this.#grid = new SensorGrid(spec.grid, spec.faults, own);
    this.#battery = new Battery(spec.battery);
    this.#sitter = new Sitter(situation, randomFrom(`${own}/posture`), (at, event) => this.#tell(at, event));
    this.#surroundings = new Surroundings(spec.radio, situation.zone, randomFrom(`${own}/surroundings`));
    this.store = new MessageStore(spec.storeLimit);
    const relay = `R-${spec.serial.slice(-6)}`;
    this.#ownRelay = { name: relay, tellsLink: true, startedAt: startsAt - 40 * day };
    this.#now = startsAt;
    this.#clock = new UnitClock(spec.clockDriftPartsPerMillion, startsAt);
    this.#writer = new MessageWriter(spec.serial, this.#clock, this.store);
    this.#obedience = new Obedience(this.#writer, this.store, this.#clock, this.#hands());
    const { firmware, hardware, grid } = spec;
    const identity = { firmware, hardware, grid, offsets: this.#grid.factoryOffsets };
    this.#firmware = new Firmware(this.#writer, identity);
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
    this.#pace.every(minutes);
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
    if (message.kind === "plan") this.#firmware.hear(message);
    if (message.kind === "command" && this.#state === "running") this.#obedience.take(message, at, request);
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
    const relay = this.#surroundings.relayAt(this.#now, this.#ownRelay);
    return greeting(this.store, this.#checks.certificateEnds, relay?.name ?? null);
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
    this.#battery.age(this.spec.faults, at);
    this.#battery.step(60, activity, this.#surroundings.signal === null, doing.chargerIn && mayCharge);
    if (!running) {
      if (act) this.#tell(act.startsAt, truthOf(act, null));
      this.#restartIfPossible(at + minute);
      return;
    }
    const uptime = this.#clock.uptimeAt(at + second / 2);
    const senses = this.#sense(at, act, charging);
    const { prompted, seen } = this.#firmware.minute(uptime, senses);
    if (act) this.#tell(act.startsAt, truthOf(act, seen));
    if (prompted) this.#sitter.prompted(at + minute);
    this.#obedience.timePassed(at + minute);
    this.#power.minute(uptime + 60, doing.chargerIn, charging, senses.signal !== null);
    this.#relay.minute(uptime + 60, this.#surroundings.relayAt(at, this.#ownRelay));
    const wall = this.#clock.wallSecondsAt(uptime + 60);
    this.#checks.minute(at, uptime + 60, senses.humidity, wall);
    const { pendingMinutes } = this.#writer;
    if (this.#pace.isDue({ pendingMinutes, inReach: this.#surroundings.signal !== null, wall }))
      this.#firmware.report(uptime + 60);
    this.#stopIfNeeded(at, uptime + 60);
  }

  #sense(at: Moment, act: ReliefAct | null, charging: boolean): Senses {
    const parts = { grid: this.#grid, sitter: this.#sitter, clock: this.#clock };
    return {
      ...senseSeat(parts, at, this.#surroundings.celsius, act),
      cellMillivolts: this.#battery.millivolts,
      power: this.#battery.powerState(charging, this.#sitter.doing.chargerIn),
      signal: this.#surroundings.signal,
      humidity:
        this.spec.humidity === false ? null : this.#checks.humidityAt(at, this.#surroundings.humidity),
    };
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

  #tell(at: Moment, event: TruthEvent): void {
    this.#truth.tell({ at, unit: this.spec.serial, ...event });
  }
}
