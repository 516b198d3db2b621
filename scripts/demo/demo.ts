import { join } from "node:path";
import { TruthFile } from "../simulated-cushions/truth.ts";
import { minute } from "../simulated-cushions/wall-clock.ts";
import { workLive } from "./bench-story.ts";
import { type Calendar, calendarOf } from "./calendar.ts";
import { freshDemoFolder } from "./demo-folder.ts";
import { borrowers } from "./invented-cast.ts";
import { runLive } from "./live.ts";
import { type DemoOptions, help, readOptions } from "./options.ts";
import { diaryOf } from "./programme-diary.ts";
import { ProgressBar } from "./progress-bar.ts";
import { ServerLink } from "./server-link.ts";
import { lateBorrower, lateRelayReturnsAfter } from "./stories.ts";
import { storiesOf } from "./story.ts";
import { TimeLapse } from "./time-lapse.ts";

async function main(): Promise<number> {
  const read = readOptions(process.argv.slice(2));
  if (read.kind === "help") {
    console.log(help);
    return 0;
  }
  if (read.kind === "wrong") {
    console.error(`${read.sentence}\n\n${help}`);
    return 2;
  }
  const folder = freshDemoFolder(read.options.folder);
  if (folder.kind === "refused") {
    console.error(folder.sentence);
    return 2;
  }
  return demonstrate(read.options, folder.path);
}

async function demonstrate(options: DemoOptions, folder: string): Promise<number> {
  const calendar = calendarOf(Date.now(), options.days, options.zone);
  const stories = storiesOf(calendar, options.seed).slice(0, options.loans ?? undefined);
  const truth = new TruthFile(join(folder, "truth.jsonl"));
  const link = new ServerLink(join(folder, "service.log"));
  const stop = stopOnSignal();
  const bar = new ProgressBar(process.stdout);
  console.log("An invented programme: nobody in it exists. Playing its past through the real broker.\n");
  try {
    await link.showTime(calendar.startsAt);
    const request = { dataFolder: join(folder, "data"), zone: options.zone };
    const first = await link.start({ ...request, port: options.port, mqttPort: options.mqttPort });
    const url = first.url ?? "";
    const ports = { port: Number(new URL(url).port), mqttPort: first.mqttPort ?? options.mqttPort };
    const lapse = new TimeLapse({
      calendar,
      diary: diaryOf(calendar, stories),
      link,
      home: { server: url, zone: options.zone, seed: options.seed, truth },
      restart: async () => {
        await link.start({ ...request, ...ports });
      },
      progress: (share, words) => bar.show(share, words),
      stopped: () => stop.asked,
    });
    await lapse.play();

    await link.showTime(null);
    for (const { cushion } of lapse.homes.values()) cushion.reportEvery(1);
    await lapse.deliverAll(Date.now());
    await lapse.review(true);
    bar.clear();
    sayReady(url, folder, lapse, calendar);
    if (!options.exitWhenReady && !stop.asked) {
      const stopLiving = runLive([...lapse.homes.values()], () => truth.flush());
      const stopWorking = workLive(lapse.rigs);
      await stop.waited;
      await Promise.all([stopLiving(), stopWorking()]);
    }
    const connected = [...lapse.homes.values(), ...lapse.rigs.map(({ delivery }) => delivery)];
    await Promise.all(connected.map((each) => each.hangUp()));
    return 0;
  } finally {
    truth.close();
    await link.end();
  }
}

function sayReady(url: string, folder: string, lapse: TimeLapse, calendar: Calendar): void {
  const seconds = Math.round((Date.now() - calendar.readyAt) / 1_000);
  const clock = new Intl.DateTimeFormat("en-GB", {
    hour: "2-digit",
    minute: "2-digit",
    timeZone: calendar.zone,
  });
  const returns = clock.format(calendar.readyAt + lateRelayReturnsAfter + minute);
  const late = lapse.homes.get(lateBorrower);
  console.log(`Ready after ${seconds} s: ${lapse.homes.size} cushions on loan, ${lapse.messagesDelivered} messages delivered.

  ${url}

Open it and choose whom to enter as: Stores, Bench or Clinic. No password is needed in a demonstration.`);
  if (late)
    console.log(
      `At about ${returns} the relay of ${late.cushion.spec.serial} comes back: a verdict changes under Clinic, for ${borrowers[lateBorrower].name}.`,
    );
  console.log(`What really happened is in ${join(folder, "truth.jsonl")}; the service never reads it.
Ctrl-C stops everything.
`);
}

interface StopRequest {
  asked: boolean;
  readonly waited: Promise<void>;
}

/** The first Ctrl-C stops cleanly, the second at once. */
function stopOnSignal(): StopRequest {
  let resolve: () => void = () => undefined;
  const request: StopRequest = {
    asked: false,
    waited: new Promise((done) => {
      resolve = done;
    }),
  };
  const stop = (): void => {
    if (request.asked) process.exit(130);
    request.asked = true;
    console.log("\nStopping.");
    resolve();
  };
  process.on("SIGINT", stop);
  process.on("SIGTERM", stop);
  return request;
}

main().then(
  (code) => process.exit(code),
  (problem: unknown) => {
    const code = problem instanceof Error ? problem.message : String(problem);
    console.error(
      /EADDRINUSE/.test(code)
        ? "\nNot started: a port is taken. Choose others with --port and --mqtt-port (0 takes any free one)."
        : `\nThe demonstration stopped: ${code}`,
    );
    process.exit(1);
  },
);
