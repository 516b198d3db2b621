import type { DownlinkMessage, ResetReason, UplinkMessage } from "../../firmware-protocol/src/messages.ts";
import { Battery, type BatteryStart } from "./battery.ts";
import { DayPlanner, type Doing } from "./day-plan.ts";
import type { Fault, RadioSurroundings } from "./faults.ts";
import { Firmware, type Senses } from "./firmware.ts";
import { MessageWriter, type PlanInForce } from "./message-writer.ts";
import { absenceAt, type Person } from "./person.ts";
import { type Random, randomFrom } from "./random.ts";
import { type ReliefAct, ReliefActs } from "./relief-acts.ts";
import { type GridModel, relieved, restingLoad, type SeatLoad } from "./seat-load.ts";
import { placesToSitCount, SensorGrid } from "./sensor-grid.ts";
import { MessageStore } from "./store.ts";
import { Surroundings } from "./surroundings.ts";
import type { TruthEvent, TruthSink } from "./truth.ts";
import { UnitClock } from "./unit-clock.ts";
import { hour, type Moment, minute, second } from "./wall-clock.ts";

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
}

export interface Situation {
  readonly person: Person;
  /** Two cushions lent to one person after another share this: the person's days don't change with the cushion. */
  readonly personSeed: string;
  readonly zone: string;
}

/** One cushion under one person, in virtual time. Pure: the same seed and the same receipts give the same messages. */
export class SimulatedCushion {
  readonly spec: CushionSpec;
  readonly store: MessageStore;
  readonly #person: Person;
  readonly #planner: DayPlanner;
  readonly #acts: ReliefActs;
  readonly #grid: SensorGrid;
  readonly #battery: Battery;
  readonly #clock: UnitClock;
  readonly #writer: MessageWriter;
  readonly #firmware: Firmware;
  readonly #surroundings: Surroundings;
  readonly #random: Random;
  readonly #truth: TruthSink;
  readonly #rest: SeatLoad;
  #now: Moment;
  #state: "running" | "flat" | "switched-off" = "running";
  #reportEveryMinutes = 60;
  #doing: Doing = { seated: false, out: false, chargerIn: false };
  #minutesSeated = 0;
  #place = 2;
  #away: string | null = null;

  constructor(spec: CushionSpec, situation: Situation, seed: string, startsAt: Moment, truth: TruthSink) {
    this.spec = spec;
    this.#person = situation.person;
    this.#truth = truth;
    const own = `${seed}/${spec.serial}`;
    const { weightKilograms, leftOverRight } = situation.person.habits;
    this.#rest = restingLoad(weightKilograms, leftOverRight);
    this.#planner = new DayPlanner(situation.person, situation.zone, situation.personSeed);
    this.#acts = new ReliefActs(situation.person, randomFrom(`${situation.personSeed}/reliefs`));
    this.#grid = new SensorGrid(spec.grid, spec.faults, own);
    this.#battery = new Battery(spec.battery);
    this.#random = randomFrom(`${own}/posture`);
    this.#surroundings = new Surroundings(spec.radio, situation.zone, randomFrom(`${own}/surroundings`));
    this.store = new MessageStore(spec.storeLimit);
    this.#now = startsAt;
    this.#clock = new UnitClock(spec.clockDriftPartsPerMillion, startsAt);
    this.#writer = new MessageWriter(spec.serial, this.#clock, this.store);
    this.#firmware = new Firmware(this.#writer, {
      firmware: spec.firmware,
      hardware: spec.hardware,
      grid: spec.grid,
      offsets: this.#grid.factoryOffsets,
    });
    this.#boot("power-on", true);
    this.#surroundings.step(startsAt, this.#doing, false);
  }

  /** Minutes are told this often: 60 to save the battery, 1 while somebody is looking on. */
  reportEvery(minutes: number): void {
    this.#reportEveryMinutes = minutes;
  }

  follow(plan: PlanInForce): void {
    this.#firmware.follow(plan);
  }

  /** Whether a message sent at `at`, up to which the cushion has advanced, would reach the programme. */
  mayDeliver(at: Moment): boolean {
    return this.#state === "running" && this.#surroundings.mayDeliver(at);
  }

  receive(message: DownlinkMessage, at: Moment): void {
    if (message.kind === "plan") {
      this.#firmware.hear(message);
      return;
    }
    this.store.forget(message);
    this.#clock.set(message.serverUnixSeconds, at);
  }

  /** Connected again after a long time out of touch. */
  greet(at: Moment): void {
    this.#firmware.hello(this.#clock.uptimeAt(at), this.store.length);
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
    const act = this.#livePerson(at);
    const running = this.#state === "running";
    const charging = this.#doing.chargerIn && !this.#battery.full;
    this.#surroundings.step(at, this.#doing, charging);
    const activity = !running ? "off" : this.#doing.seated ? "loaded" : "empty";
    this.#battery.step(60, activity, this.#surroundings.signal === null, this.#doing.chargerIn);
    if (!running) {
      this.#tellAct(act, null);
      this.#restartIfPossible(at + minute);
      return;
    }
    const uptime = this.#clock.uptimeAt(at + second / 2);
    const { prompted, seen } = this.#firmware.minute(uptime, this.#sense(at, act));
    this.#tellAct(act, seen);
    if (prompted) this.#acts.prompted(at + minute);
    if (this.#reportIsDue(uptime + 60)) this.#firmware.report(uptime + 60);
    this.#stopIfNeeded(at, uptime + 60);
  }

  #livePerson(at: Moment): ReliefAct | null {
    const was = this.#doing;
    const absence = absenceAt(this.#person, at);
    if ((absence?.why ?? null) !== this.#away) {
      this.#tell(at, { what: absence ? "left-home" : "came-home", why: absence?.why ?? this.#away ?? "" });
      this.#away = absence?.why ?? null;
    }
    this.#doing = this.#planner.doingAt(at);
    const { seated, chargerIn, out } = this.#doing;
    if (chargerIn !== was.chargerIn) this.#tell(at, { what: chargerIn ? "charger-in" : "charger-out" });
    if (out !== was.out) this.#tell(at, { what: out ? "out-of-reach" : "in-reach" });
    if (seated !== was.seated) this.#tell(at, { what: seated ? "sat-down" : "got-up" });
    if (!seated) {
      if (was.seated) this.#acts.leftTheSeat();
      return null;
    }
    if (!was.seated) {
      this.#place = Math.floor(this.#random.next() * placesToSitCount);
      this.#minutesSeated = 0;
    }
    this.#minutesSeated += 1;
    return this.#acts.within(at);
  }

  #sense(at: Moment, act: ReliefAct | null): Senses {
    const load = this.#doing.seated ? this.#swayed() : null;
    const seat = {
      at,
      load,
      minutesSeated: this.#minutesSeated,
      celsius: this.#surroundings.celsius,
      place: this.#place,
    };
    const movement = act &&
      load && {
        counts: this.#grid.read({ ...seat, load: relieved(load, act.kind, act.depth) }),
        startUptime: this.#clock.uptimeAt(act.startsAt),
        seconds: act.holdSeconds,
      };
    return {
      counts: this.#grid.read(seat),
      movement,
      celsius: seat.celsius,
      cellMillivolts: this.#battery.millivolts,
      power: !this.#doing.chargerIn ? "on-battery" : this.#battery.full ? "charged" : "charging",
      signal: this.#surroundings.signal,
    };
  }

  /** Nobody sits like a sack: a few per cent to either side from minute to minute. */
  #swayed(): SeatLoad {
    const sway = this.#random.normal(0, 0.03);
    return {
      leftBone: this.#rest.leftBone * (1 - sway),
      leftThigh: this.#rest.leftThigh * (1 - sway),
      rightBone: this.#rest.rightBone * (1 + sway),
      rightThigh: this.#rest.rightThigh * (1 + sway),
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
    const absence = absenceAt(this.#person, at);
    const switchedOff =
      absence?.switchedOffAfterMinutes != null &&
      at >= absence.from + absence.switchedOffAfterMinutes * minute;
    if (switchedOff) {
      this.#firmware.report(uptime);
      this.#state = "switched-off";
      this.#tell(at, { what: "switched-off" });
    } else if (this.#battery.flat) {
      this.#firmware.cutOff(uptime, this.#battery.millivolts);
      this.#state = "flat";
      this.#tell(at, { what: "ran-flat" });
    } else if (this.#watchdogBites(at)) {
      this.#firmware.report(uptime);
      this.#now = at + minute;
      this.#boot("watchdog", false);
    }
  }

  #watchdogBites(at: Moment): boolean {
    const loop = this.spec.faults.find((fault) => fault.kind === "reset-loop" && fault.from <= at);
    return loop?.kind === "reset-loop" && this.#random.chance(minute / (loop.meanHoursBetween * hour));
  }

  #restartIfPossible(at: Moment): void {
    const stillAway = absenceAt(this.#person, at) !== null;
    if (this.#state === "switched-off" && !stillAway) {
      this.#now = at;
      this.#boot("user-off", this.#battery.flat);
    } else if (this.#state === "flat" && this.#doing.chargerIn && this.#battery.canStart) {
      this.#now = at;
      this.#boot("brown-out", true);
    }
  }

  #boot(reason: ResetReason, lostPower: boolean): void {
    this.#state = "running";
    this.#clock.restart(this.#now, lostPower);
    this.#firmware.boot(reason, this.#clock.isSet, this.store.length);
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
