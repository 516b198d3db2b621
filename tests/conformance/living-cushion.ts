import { SimulatedCushion } from "../../scripts/simulated-cushions/cushion.ts";
import { Delivery } from "../../scripts/simulated-cushions/delivery.ts";
import { enrol, makeUnitKey } from "../../scripts/simulated-cushions/enrol.ts";
import { noTruth } from "../../scripts/simulated-cushions/truth.ts";
import { soundCushion, steadyPerson, zone } from "../simulated-cushions/cast.ts";

const minute = 60_000;
const hour = 60 * minute;

export interface LivingCushion {
  readonly cushion: SimulatedCushion;
  /** The story's time, which runs faster than the machine's. */
  readonly now: () => number;
  /** Enrols, and lives until it is stopped. */
  begin(enrolAt: { url: string; code: string }): void;
  stop(): Promise<void>;
}

interface Parts {
  readonly Cushion: typeof SimulatedCushion;
  readonly Post: new (...given: ConstructorParameters<typeof Delivery<SimulatedCushion>>) => Delivery;
}

/** A simulated cushion that lives a minute in a moment, and calls the server it enrolled with.
 *  @param parts a test may plant a fault in them */
export function livingCushion(serial: string, parts: Partial<Parts> = {}): LivingCushion {
  const { Cushion = SimulatedCushion, Post = Delivery } = parts;
  let now = Math.floor(Date.now() / minute) * minute;
  const situation = { person: steadyPerson, personSeed: "conforms", zone };
  const spec = { ...soundCushion, serial, battery: { ...soundCushion.battery, charge: 1 } };
  const cushion = new Cushion(spec, situation, "conforms", now - hour, noTruth);
  let stopped = false;
  let life = Promise.resolve();

  async function live({ url, code }: { url: string; code: string }): Promise<void> {
    const outcome = await enrol(url, serial, code, await makeUnitKey(serial));
    if (outcome.kind === "refused") throw new Error(outcome.refusal.message);
    cushion.follow(outcome.enrolled.plan);
    cushion.reportEvery(1);
    const delivery = new Post(cushion, outcome.enrolled);
    while (!stopped) {
      now += minute;
      cushion.advance(now);
      await delivery.deliver(now, 0.3);
      await new Promise((resolve) => setTimeout(resolve, 100));
    }
    await delivery.hangUp();
  }

  return {
    cushion,
    now: () => now,
    begin: (enrolAt) => {
      life = live(enrolAt);
      life.catch(() => undefined);
    },
    stop: async () => {
      stopped = true;
      await life;
    },
  };
}
