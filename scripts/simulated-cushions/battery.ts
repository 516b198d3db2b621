import type { PowerState } from "../../firmware-protocol/src/messages.ts";
import type { Fault } from "./faults.ts";
import { day, type Moment, minute } from "./wall-clock.ts";

/** Open-circuit voltage over state of charge of a 4.2 V cell, 0 to 100 % in steps of 10.
 *  Source: Chen et al. 2020, J. Electrochem. Soc. 167 080534 (CC BY): LG M50 electrode potentials between 2.5 and 4.2 V. */
const openCircuitVolts = [2.5, 3.296, 3.485, 3.581, 3.667, 3.751, 3.841, 3.948, 4.042, 4.097, 4.2] as const;

export function openCircuitMillivolts(stateOfCharge: number): number {
  const place = Math.min(1, Math.max(0, stateOfCharge)) * 10;
  const below = Math.min(9, Math.floor(place));
  const low = openCircuitVolts[below] ?? 2.5;
  const high = openCircuitVolts[below + 1] ?? 4.2;
  return 1_000 * (low + (high - low) * (place - below));
}

/** What the electronics draw, mA (our own choice: a charge lasts about six days when new). */
export type Activity = "off" | "empty" | "loaded";
const drawMilliamps: Readonly<Record<Activity, number>> = { off: 0.05, empty: 4, loaded: 13 };
/** Calling for a relay that doesn't answer costs more than talking to one that does. */
const searchingMilliamps = 5;
const chargeMilliamps = 450;
/** The last part of a charge tapers off. */
const taperFrom = 0.85;
const cutOffMillivolts = 3_150;
const startMillivolts = 3_350;
const ohmsWhenNew = 0.12;
/** J/mol. */
const activation = 21_000;
/** Share of capacity lost by one full cycle (a cell that keeps 80 % after 600). */
const fadePerCycle = 0.2 / 600;

export interface BatteryStart {
  readonly ratedMilliampHours: number;
  /** Capacity now over rated. */
  readonly health: number;
  readonly charge: number;
}

/** One lithium-ion cell: charge counted in, charge counted out, and a voltage the gauge can read. */
export class Battery {
  #charge: number;
  #health: number;
  readonly #rated: number;
  #milliamps = 0;

  constructor(start: BatteryStart) {
    this.#rated = start.ratedMilliampHours;
    this.#health = start.health;
    this.#charge = start.charge;
  }

  /** 0 to 1: the truth, which no gauge knows. */
  get stateOfCharge(): number {
    return this.#charge;
  }

  get capacityMilliampHours(): number {
    return this.#rated * this.#health;
  }

  /** At the terminals, under the present current: below the open-circuit voltage on load, above it on charge. */
  get millivolts(): number {
    return this.#millivoltsAt(this.#milliamps);
  }

  /** How far a burst of this current draws the voltage down: a cold cell resists more (Arrhenius; our own choice of the
   *  energy). */
  dropUnder(burstMilliamps: number, celsius: number, leadOhms: number): number {
    const coldness = Math.exp((activation / 8.314) * (1 / (celsius + 273.15) - 1 / 298.15));
    return burstMilliamps * (this.#ohms * coldness + leadOhms);
  }

  /** A minute of what its cell does by itself: fading faster than use makes it, or leaking. */
  age(faults: readonly Fault[], at: Moment): void {
    for (const fault of faults) {
      if (fault.kind === "capacity-fade" && fault.from <= at)
        this.fade((fault.sharePerDay * minute) / day, fault.downTo);
      if (fault.kind === "leaky-cell" && fault.from <= at)
        this.#charge = Math.max(0, this.#charge - (fault.sharePerDay * minute) / day);
    }
  }

  /** What its gauge makes of it. */
  powerState(charging: boolean, chargerIn: boolean): PowerState {
    if (charging) return "charging";
    return chargerIn && this.full ? "charged" : "on-battery";
  }

  #millivoltsAt(milliamps: number): number {
    return openCircuitMillivolts(this.#charge) + milliamps * this.#ohms;
  }

  /** At 25 degrees Celsius. */
  get #ohms(): number {
    return ohmsWhenNew * (1 + 3 * (1 - this.#health));
  }

  get flat(): boolean {
    return this.isCutOffAt(cutOffMillivolts);
  }

  isCutOffAt(millivolts: number): boolean {
    return this.millivolts <= Math.max(millivolts, cutOffMillivolts);
  }

  /** Enough to start up again. */
  get canStart(): boolean {
    return this.canStartAfter(0);
  }

  /** @param cutOffMillivolts where it was cut off: well above that, or it would be cut off again at once */
  canStartAfter(cutOffMillivolts: number): boolean {
    return this.millivolts >= Math.max(startMillivolts, cutOffMillivolts + 100);
  }

  get full(): boolean {
    return this.#charge >= 0.995;
  }

  /** Loses capacity for good, and the charge that was in it. */
  fade(share: number, downTo: number): void {
    this.#health = Math.max(Math.min(this.#health, downTo), this.#health - share);
  }

  step(seconds: number, activity: Activity, searching: boolean, chargerIn: boolean): void {
    const draw = drawMilliamps[activity] + (searching && activity !== "off" ? searchingMilliamps : 0);
    this.#milliamps = (chargerIn ? this.#chargeCurrent() : 0) - (chargerIn && this.full ? 0 : draw);
    const ampHours = (this.#milliamps * seconds) / 3_600;
    this.#charge = Math.min(1, Math.max(0, this.#charge + ampHours / this.capacityMilliampHours));
    this.#health -= (Math.abs(ampHours) / (2 * this.capacityMilliampHours)) * fadePerCycle;
  }

  #chargeCurrent(): number {
    if (this.full) return 0;
    if (this.#charge < taperFrom) return chargeMilliamps;
    return Math.max(40, chargeMilliamps * ((1 - this.#charge) / (1 - taperFrom)));
  }
}
