import type { Logger } from "pino";
import { systemChance } from "./chance.ts";
import { systemClock } from "./clock.ts";
import { readConfig } from "./config.ts";
import { createLog } from "./log.ts";
import { type RunningService, startService } from "./service.ts";

/** Starts the service from the environment and stops it on a signal; a second signal ends it at once. */
async function start(): Promise<void> {
  const read = readConfig(process.env);
  if (!read.ok) {
    console.error(read.message);
    process.exit(2);
  }
  const log = createLog();
  const starting = startService({ config: read.config, clock: systemClock, chance: systemChance, log });

  let stopping = false;
  const stop = (signal: string) => {
    if (stopping) process.exit(1);
    stopping = true;
    log.info({ signal }, "stopping");
    // A signal that comes while starting waits for the start: half a start can't be stopped cleanly.
    void starting.then((running) => finish(running, log));
  };
  process.on("SIGTERM", () => stop("SIGTERM"));
  process.on("SIGINT", () => stop("SIGINT"));

  const { setUpLink } = await starting;
  if (setUpLink !== null) sayHowToSetUp(setUpLink);
}

async function finish(running: RunningService, log: Logger): Promise<void> {
  try {
    await running.stop();
    process.exit(0);
  } catch (error) {
    log.error({ err: error }, "did not stop cleanly");
    process.exit(1);
  }
}

/** For the person at the terminal, not for the log: it is a secret until it is used. */
function sayHowToSetUp(link: string): void {
  process.stderr.write(
    `\nNobody administers this programme yet. Open this link to make the first administrator's account.\nIt works once, for 24 hours; the next start prints a new one.\n\n  ${link}\n\n`,
  );
}

start().catch((error: unknown) => {
  const code = error instanceof Error && "code" in error ? ` (${String(error.code)})` : "";
  console.error(`Not started${code}: ${error instanceof Error ? error.message : String(error)}`);
  process.exit(1);
});
