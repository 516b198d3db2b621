import type { ChargeEnd, PowerEvent } from "../../firmware-protocol/src/messages.ts";
import type { Battery } from "./battery.ts";
import type { Fault } from "./faults.ts";
import type { MessageWriter } from "./message-writer.ts";
import type { Moment } from "./wall-clock.ts";

/** Charging waits outside these (0 to 45 degrees Celsius: common practice for lithium-ion cells), and goes on a little
 *  inside them. */
const limits = { cold: 0, hot: 45, backBy: 3 };
const minutesToFollow = 12;
const daySeconds = 86_400;
/** A radio burst (our own choice). */
const burstMilliamps = 240;
const firstStepAfter = 600;

/** Looks after the cell: when it may be charged, and what is told of it. */
export class PowerWatch {
  readonly #battery: Battery;
  readonly #writer: MessageWriter;
  readonly #faults: readonly Fault[];
  #celsius: number | null = null;
  #feeding = false;
  #told = false;
  #waiting: "charge-too-hot" | "charge-too-cold" | null = null;
  #lastStep: number | null = null;
  #leadOhms = 0;

  constructor(battery: Battery, writer: MessageWriter, faults: readonly Fault[]) {
    this.#battery = battery;
    this.#writer = writer;
    this.#faults = faults;
  }

  /** Whether the charger may feed the cell in the coming minute, by how warm the cell is. */
  mayCharge(at: Moment, insertCelsius: number): boolean {
    this.#leadOhms = this.#faults.reduce(
      (sum, fault) => (fault.kind === "worn-plug" && fault.from <= at ? sum + fault.ohms : sum),
      0,
    );
    const target = this.#celsiusWanted(at, insertCelsius);
    const before = this.#celsius ?? target;
    this.#celsius = before + (target - before) / minutesToFollow;
    if (this.#celsius >= limits.hot) this.#waiting = "charge-too-hot";
    else if (this.#celsius <= limits.cold) this.#waiting = "charge-too-cold";
    else if (this.#celsius < limits.hot - limits.backBy && this.#celsius > limits.cold + limits.backBy)
      this.#waiting = null;
    return this.#waiting === null;
  }

  /** Below this the protection circuit cuts the cell off early; 0: it doesn't. */
  cutOffFrom(at: Moment): number {
    const early = this.#faults.find((fault) => fault.kind === "early-cut-off" && fault.from <= at);
    return early?.kind === "early-cut-off" ? early.millivolts : 0;
  }

  boot(): void {
    this.#feeding = false;
    this.#told = false;
    this.#lastStep = null;
  }

  /** A minute is over. @param feeding the charger fed the cell in it */
  minute(uptime: number, chargerIn: boolean, feeding: boolean, inReach: boolean): void {
    if (feeding && !this.#feeding) this.#tell("charge-start", uptime);
    if (!feeding && this.#feeding)
      this.#tell("charge-end", uptime, this.#battery.full ? "full" : "interrupted");
    this.#feeding = feeding;
    const waits = chargerIn && !this.#battery.full ? this.#waiting : null;
    if (waits !== null && !this.#told) this.#tell(waits, uptime);
    this.#told = waits !== null;
    const stepDue =
      this.#lastStep === null ? uptime >= firstStepAfter : uptime - this.#lastStep >= daySeconds;
    if (inReach && !chargerIn && stepDue) {
      this.#lastStep = uptime;
      this.#tell("voltage-step", uptime);
    }
  }

  cutOff(uptime: number): void {
    this.#tell("cut-off", uptime);
  }

  #celsiusWanted(at: Moment, insertCelsius: number): number {
    let wanted = insertCelsius;
    for (const fault of this.#faults) {
      if (fault.kind === "cold-place" && fault.from <= at && at < fault.until) wanted = fault.celsius;
      if (fault.kind === "charge-heat" && fault.from <= at && this.#feeding) wanted += fault.celsius;
    }
    return wanted;
  }

  #tell(event: PowerEvent, uptime: number, ended?: ChargeEnd): void {
    const rest = Math.round(this.#battery.millivolts);
    const celsius = this.#celsius ?? 21;
    const drop = this.#battery.dropUnder(burstMilliamps, celsius, this.#leadOhms);
    const step = {
      restMillivolts: rest,
      loadMillivolts: Math.round(this.#battery.millivolts - drop),
      burstMilliamperes: burstMilliamps,
    };
    this.#writer.write(
      {
        kind: "power",
        event,
        atUptimeSeconds: uptime,
        cellMillivolts: rest,
        temperatureDecicelsius: Math.round(celsius * 10),
        ...(ended === undefined ? {} : { ended }),
        ...(event === "voltage-step" ? { step } : {}),
      },
      uptime,
    );
  }
}
