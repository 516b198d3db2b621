import { readPairingPicture } from "../simulated-cushions/camera.ts";
import { SimulatedCushion } from "../simulated-cushions/cushion.ts";
import type { CushionSpec } from "../simulated-cushions/cushion-spec.ts";
import { Delivery } from "../simulated-cushions/delivery.ts";
import { enrol, makeUnitKey } from "../simulated-cushions/enrol.ts";
import type { Fault } from "../simulated-cushions/faults.ts";
import type { TruthSink } from "../simulated-cushions/truth.ts";
import type { Moment } from "../simulated-cushions/wall-clock.ts";
import { lots, models, units } from "./invented-cast.ts";
import type { Story } from "./story.ts";

export interface HomeOptions {
  readonly server: string;
  readonly zone: string;
  readonly seed: string;
  readonly truth: TruthSink;
}

/** A cushion arrives at a borrower's home: it looks at the pairing code, makes its key, claims the code and starts. */
export async function moveIn(
  story: Story,
  serial: string,
  pairingPicture: string,
  at: Moment,
  options: HomeOptions,
): Promise<Delivery> {
  const code = await readPairingPicture(pairingPicture);
  if (code === null) throw new Error(`${serial} could not read its pairing code.`);
  const outcome = await enrol(options.server, serial, code, await makeUnitKey(serial));
  if (outcome.kind === "refused") throw new Error(`${serial} was refused: ${outcome.refusal.message}`);
  const situation = {
    person: story.person,
    personSeed: `${options.seed}/${story.borrower}`,
    zone: options.zone,
  };
  const cushion = new SimulatedCushion(specOf(story, serial), situation, options.seed, at, options.truth);
  // The past is played an hour at a time: nothing could be delivered sooner.
  cushion.reportEvery(60);
  cushion.follow(outcome.enrolled.plan);
  return new Delivery(cushion, outcome.enrolled);
}

/** The story's faults belong to the unit that the story lends; one that comes in its place is sound. */
function specOf(story: Story, serial: string): CushionSpec {
  const { radio } = story.spec;
  if (serial !== story.serial) return { ...specOfUnit(serial, []), radio };
  const { faults, health, charge } = story.spec;
  const made = specOfUnit(serial, faults);
  return { ...made, battery: { ...made.battery, health, charge }, radio };
}

/** As its lot was made. */
export function specOfUnit(serial: string, faults: readonly Fault[]): CushionSpec {
  const lot = units.find((unit) => unit.serial === serial)?.lot;
  const model = lot && models.find((each) => each.id === lots[lot].model);
  if (!model) throw new Error(`No unit ${serial} in the story.`);
  return {
    serial,
    firmware: lot === "mediumEarly" ? "2.3.4" : "2.4.1",
    hardware: lot === "mediumEarly" ? "B" : "C",
    grid: { rows: model.rows, columns: model.columns, pitchMillimetres: model.pitchMillimetres },
    battery: { ratedMilliampHours: model.ratedMilliampHours, health: 0.98, charge: 0.95 },
    storeLimit: 3_000,
    clockDriftPartsPerMillion: driftOf(serial),
    faults,
    radio: { signal: { mean: -55, deviation: 2 }, outages: [] },
  };
}

/** Crystals differ: up to 25 parts per million either way, always the same for one unit. */
const driftOf = (serial: string): number => ((Number(serial.slice(-4)) * 7) % 51) - 25;
