import type { UplinkMessage } from "../../../firmware-protocol/src/messages.ts";
import type { UnitRecord } from "../../../server/domain/record/unit-record.ts";
import type { BatteryStart } from "../../simulated-cushions/battery.ts";
import { SimulatedCushion } from "../../simulated-cushions/cushion.ts";
import type { Fault } from "../../simulated-cushions/faults.ts";
import type { Person } from "../../simulated-cushions/person.ts";
import { drawPerson } from "../../simulated-cushions/population.ts";
import { randomFrom } from "../../simulated-cushions/random.ts";
import type { GridModel } from "../../simulated-cushions/seat-load.ts";
import { TruthList } from "../../simulated-cushions/truth.ts";
import { day } from "../../simulated-cushions/wall-clock.ts";
import { recordOf } from "./record-of.ts";

export const fleetStart = Date.UTC(2026, 4, 4, 5, 0);
const zone = "Europe/London";

const grids: readonly GridModel[] = [
  { rows: 8, columns: 8, pitchMillimetres: 50 },
  { rows: 10, columns: 10, pitchMillimetres: 42 },
  { rows: 16, columns: 16, pitchMillimetres: 27 },
];

/** One unit under one person: what it told, and what was so. */
export interface Lived {
  readonly grid: GridModel;
  readonly person: Person;
  readonly record: UnitRecord;
  /** The same as it would be sent. */
  readonly messages: readonly UplinkMessage[];
  readonly truth: TruthList;
  readonly days: number;
}

export interface UnitOrder {
  readonly days: number;
  readonly faults?: (grid: GridModel) => readonly Fault[];
  readonly person?: (drawn: Person) => Person;
  readonly battery?: BatteryStart;
}

/** People and grids drawn from the simulation's own population; the same name lives the same life. */
export function liveUnit(name: string, order: UnitOrder): Lived {
  const random = randomFrom(`${name}/unit`);
  const grid = grids[Math.floor(random.next() * grids.length)] ?? {
    rows: 10,
    columns: 10,
    pitchMillimetres: 42,
  };
  const drawn = drawPerson(name);
  const person = order.person ? order.person(drawn) : drawn;
  const truth = new TruthList();
  const cushion = new SimulatedCushion(
    {
      serial: "CU-000001",
      firmware: "2.4.1",
      hardware: "C",
      grid,
      battery: order.battery ?? {
        ratedMilliampHours: 1_200,
        health: random.uniform(0.85, 1),
        charge: 0.9,
      },
      storeLimit: 1_000_000,
      clockDriftPartsPerMillion: random.normal(0, 15),
      faults: order.faults?.(grid) ?? [],
      radio: { signal: { mean: random.uniform(-80, -55), deviation: 4 }, outages: [] },
    },
    { person, personSeed: name, zone },
    name,
    fleetStart,
    truth,
  );
  cushion.follow({ version: 1, intervalMinutes: 30, holdSeconds: 60, kinds: ["lean-left", "lean-right"] });
  // A receipt every few hours tells the unit what time it is.
  for (let hours = 0; hours <= 24 * order.days; hours += 6) {
    const at = fleetStart + (hours * day) / 24;
    cushion.advance(at);
    cushion.receive({ kind: "receipt", stored: [], serverUnixSeconds: at / 1_000 }, at);
  }
  return {
    grid,
    person,
    truth,
    days: order.days,
    record: recordOf(cushion.store.messages),
    messages: cushion.store.messages,
  };
}
