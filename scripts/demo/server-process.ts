import { systemChance } from "../../server/chance.ts";
import type { Clock } from "../../server/clock.ts";
import { zoneName } from "../../server/domain/time/local-day.ts";
import { instant } from "../../server/domain/units.ts";
import { createLog } from "../../server/log.ts";
import { type RunningService, startService } from "../../server/service.ts";
import type { Moment } from "../simulated-cushions/wall-clock.ts";
import type { DemoAnswer, DemoCommand, NumberedAnswer, NumberedCommand, StartRequest } from "./commands.ts";
import { castIds, ProgrammeActs } from "./programme-acts.ts";

/** The real service, in a process of its own, with a clock that the demonstration can set and people who act in it.
 *  Nothing here stands between the cushions and the service: they meet it over its own ports. */
let shownTime: Moment | null = null;
const clock: Clock = { now: () => instant(shownTime ?? Date.now()) };
/** While a past is being played, only between two hours is the record whole. */
let allowed: "nothing" | "reviews" | "reviews-and-health" = "nothing";
const acts = new ProgrammeActs();
let running: RunningService | null = null;

async function obey(command: DemoCommand): Promise<DemoAnswer> {
  switch (command.kind) {
    case "start":
      running = await start(command.request);
      return { url: running.url, mqttPort: running.mqttPort };
    case "stop":
      await running?.stop();
      running = null;
      return {};
    case "clock":
      shownTime = command.at;
      return {};
    case "review":
      allowed = command.health ? "reviews-and-health" : "reviews";
      await service().reviews.runNow({ assess: command.health });
      allowed = "nothing";
      return {};
    case "act":
      return acts.play(service(), command.act);
  }
}

function start(request: StartRequest): Promise<RunningService> {
  const zone = zoneName(request.zone);
  if (zone === null) throw new Error(`${request.zone} is no time zone that this computer knows.`);
  return startService({
    config: {
      port: request.port,
      mqttPort: request.mqttPort,
      dataFolder: request.dataFolder,
      baseUrl: null,
      zone,
      frontBroker: null,
    },
    clock,
    chance: systemChance,
    log: createLog("warn"),
    demo: {
      cast: castIds,
      pace: {
        mayReview: () => shownTime === null || allowed !== "nothing",
        mayAssess: () => shownTime === null || allowed === "reviews-and-health",
      },
    },
  });
}

function service(): RunningService {
  if (!running) throw new Error("The service is stopped.");
  return running;
}

function answer(message: NumberedAnswer): void {
  process.send?.(message);
}

process.on("message", (message: NumberedCommand) => {
  obey(message.command).then(
    (value) => answer({ id: message.id, ok: true, answer: value }),
    (problem: unknown) =>
      answer({
        id: message.id,
        ok: false,
        problem: problem instanceof Error ? (problem.stack ?? problem.message) : String(problem),
      }),
  );
});

/** Ctrl-C reaches the whole group of processes; the demonstration decides when this one stops. */
process.on("SIGINT", () => undefined);
process.on("disconnect", () => {
  void (running?.stop() ?? Promise.resolve()).finally(() => process.exit(0));
});
