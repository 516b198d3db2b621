import type { Delivery } from "../simulated-cushions/delivery.ts";
import { minute, second } from "../simulated-cushions/wall-clock.ts";

const secondsBetweenLooks = 5;

/** Lets every cushion live in step with the computer's clock, until told to stop. */
export function runLive(homes: readonly Delivery[], flushTruth: () => void): () => Promise<void> {
  const busy = new Set<Delivery>();
  const look = (): void => {
    homes.forEach((home, index) => {
      // Homes are spread over the minute, as they would be.
      const now = Date.now() - ((index * 3_100) % minute) / 4;
      if (busy.has(home)) return;
      if (home.cushion.advance(now).length === 0) return;
      busy.add(home);
      void home.deliver(now, 20).finally(() => busy.delete(home));
    });
    flushTruth();
  };
  const timer = setInterval(look, secondsBetweenLooks * second);
  return async () => {
    clearInterval(timer);
    await Promise.all(homes.map((home) => home.hangUp()));
  };
}
