import { BenchedCushion } from "../simulated-cushions/benched-cushion.ts";
import { readPairingPicture } from "../simulated-cushions/camera.ts";
import { Delivery } from "../simulated-cushions/delivery.ts";
import { enrol, makeUnitKey } from "../simulated-cushions/enrol.ts";
import type { Fault } from "../simulated-cushions/faults.ts";
import { Rig, usualRig } from "../simulated-cushions/rig.ts";
import { type Moment, minute, second } from "../simulated-cushions/wall-clock.ts";
import { specOfUnit } from "./home.ts";
import type { ServerLink } from "./server-link.ts";

export interface BenchStory {
  readonly serial: string;
  readonly faults: readonly Fault[];
  /** Readings until the technician is called away; null: to the end, and it passes. */
  readonly readings: number | null;
}

/** Of a whole guided session: the report, the line sweep, 21 loads and the battery. */
const readingsInAll = 24;
/** The hold is as long as the model asks. */
const holdEnds = 15;
const patience = { seconds: 20, looks: 400, milliseconds: 10 } as const;

/** A technician takes a unit through a guided session: it is told by the console what to do, and answers over its own
 *  connection as in a home. @returns the rig with the cushion still on it, for what is left to do */
export async function playBenchSession(
  story: BenchStory,
  begins: Moment,
  { link, server, seed }: { readonly link: ServerLink; readonly server: string; readonly seed: string },
): Promise<Rig> {
  const { serial } = story;
  const act = (what: "begin" | "ask" | "keep" | "finish") => link.play({ kind: "bench", what, serial });
  const { pairingPicture } = await act("begin");
  const code = pairingPicture === undefined ? null : await readPairingPicture(pairingPicture);
  if (code === null) throw new Error(`${serial} could not read its pairing code.`);
  const outcome = await enrol(server, serial, code, await makeUnitKey(serial));
  if (outcome.kind === "refused") throw new Error(`${serial} was refused: ${outcome.refusal.message}`);
  let at = begins;
  let now = (): Moment => at;
  const cushion = new BenchedCushion(specOfUnit(serial, story.faults), seed, at, 0);
  const delivery = new Delivery(cushion, outcome.enrolled, () => now());
  const rig = new Rig(delivery, usualRig);
  await delivery.deliver(at, patience.seconds);
  for (let reading = 0; reading < (story.readings ?? readingsInAll); reading += 1) {
    at += reading === holdEnds ? 6 * minute : 40 * second;
    await link.showTime(at);
    rig.turn(at);
    await act("ask");
    let looks = 0;
    while (!(await act("keep")).kept) {
      const { problem } = await delivery.deliver(at, patience.seconds);
      looks += 1;
      if (looks > patience.looks) throw new Error(`${serial} did not answer at the bench: ${problem}`);
      await new Promise((resolve) => setTimeout(resolve, patience.milliseconds));
    }
  }
  if (story.readings === null) {
    await act("finish");
    await delivery.hangUp();
  }
  // From here on it lives in step with the computer's clock.
  now = Date.now;
  return rig;
}

/** Lets the units that still lie on the bench answer, until told to stop. */
export function workLive(rigs: readonly Rig[]): () => Promise<void> {
  const busy = new Set<Rig>();
  // The office has moved its clock meanwhile: each greets it, so that it connects again.
  for (const { delivery } of rigs) delivery.cushion.greet(Date.now());
  const look = (): void => {
    for (const rig of rigs) {
      if (busy.has(rig)) continue;
      busy.add(rig);
      rig.turn(Date.now());
      void rig.delivery.deliver(Date.now(), 5).finally(() => busy.delete(rig));
    }
  };
  const timer = setInterval(look, second / 4);
  return async () => {
    clearInterval(timer);
    await Promise.all(rigs.map(({ delivery }) => delivery.hangUp()));
  };
}
