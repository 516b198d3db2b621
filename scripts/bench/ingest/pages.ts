import { Agent, get } from "node:http";
import { setTimeout as wait } from "node:timers/promises";
import { percentile } from "../result.ts";

export interface PageTimes {
  readonly p50: number;
  readonly p95: number;
  readonly pages: number;
}

const perSecond = 20;

/** Asks for a page twenty times a second while something else goes on. @returns a function that ends it */
export function askingForPages(port: number, path: string, cookie: string): () => Promise<PageTimes> {
  const agent = new Agent({ keepAlive: true, maxSockets: 4 });
  const times: number[] = [];
  let going = true;
  const one = (): Promise<void> =>
    new Promise((resolve, reject) => {
      const began = performance.now();
      get({ host: "localhost", port, path, agent, headers: { cookie } }, (response) => {
        response.resume();
        response.once("end", () => {
          if (response.statusCode !== 200) reject(new Error(`${path} answered ${response.statusCode}`));
          times.push(performance.now() - began);
          resolve();
        });
      }).once("error", reject);
    });
  const asking = (async () => {
    const waiting: Promise<void>[] = [];
    while (going) {
      waiting.push(one());
      await wait(1_000 / perSecond);
    }
    await Promise.all(waiting);
  })();
  return async () => {
    going = false;
    await asking;
    agent.destroy();
    return { p50: percentile(times, 0.5), p95: percentile(times, 0.95), pages: times.length };
  };
}
