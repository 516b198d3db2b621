import { setTimeout as wait } from "node:timers/promises";

/** Looks again and again until it is so; a test that waits in vain ends by its own time limit. */
export async function until(isSo: () => boolean | Promise<boolean>): Promise<void> {
  while (!(await isSo())) await wait(50);
}
