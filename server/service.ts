import { Hono } from "hono";
import type { Logger } from "pino";
import type { Chance } from "./chance.ts";
import type { Clock } from "./clock.ts";
import type { Config } from "./config.ts";
import type { StaffId, UnitSerial } from "./domain/ids.ts";
import { millisecondsIn } from "./domain/units.ts";
import { type Authority, consoleName } from "./enrolment/authority.ts";
import { type Enrolment, openEnrolment } from "./enrolment/enrolment.ts";
import { keepCertificates } from "./enrolment/keep-certificates.ts";
import { renewCertificate } from "./enrolment/renew-certificate.ts";
import { createApp } from "./http/app.ts";
import { listen } from "./http/listen.ts";
import type { AppEnv } from "./http/route.ts";
import { type RunningBroker, startBroker } from "./ingest/broker.ts";
import { subscribeToFront } from "./ingest/front-subscriber.ts";
import { loadLog } from "./ingest/load-log.ts";
import type { BrokerCredentials } from "./ingest/tls-listener.ts";
import type { WayInOptions } from "./ingest/way-in.ts";
import { startClockWatch } from "./jobs/clock-watch.ts";
import { startCommandJob } from "./jobs/command-job.ts";
import { type ReviewJob, startReviewJob } from "./jobs/review-job.ts";
import { createLiveEvents } from "./live.ts";
import { assessUnits } from "./programme/assess-units.ts";
import { isUrgent } from "./programme/assess-urgency.ts";
import { lookForIdentityTrouble } from "./programme/look-for-identity-trouble.ts";
import { readAsideAgain } from "./programme/read-aside-again.ts";
import { reviewUnit } from "./programme/review-unit.ts";
import { watchFleet } from "./programme/watch-fleet.ts";
import { allRoutes } from "./routes.ts";
import { makeInvitation, needsSetUp } from "./security/invitations.ts";
import type { Services } from "./services.ts";
import { type OpenDatabase, openDatabase } from "./store/database.ts";
import { StorageWatch } from "./store/storage-watch.ts";
import type { TelemetryStore } from "./store/telemetry-port.ts";
import { openTelemetryThread } from "./store/telemetry-thread.ts";

export interface ServiceOptions {
  readonly config: Config;
  readonly clock: Clock;
  readonly chance: Chance;
  readonly log: Logger;
  /** A demonstration on invented data: the sign-in page offers to enter as each of the cast. */
  readonly demo?: { readonly cast: readonly StaffId[]; readonly pace?: ReviewPace };
}

/** While a demonstration plays a past an hour at a time, it says when an hour's messages are all in (a half-delivered
 *  hour would show gaps), and when health is worth assessing again. */
export interface ReviewPace {
  readonly mayReview: () => boolean;
  readonly mayAssess: () => boolean;
}
const everyRound: ReviewPace = { mayReview: () => true, mayAssess: () => true };

export interface RunningService {
  /** Where the console is reached. */
  readonly url: string;
  readonly mqttPort: number;
  readonly services: Services;
  readonly enrolment: Enrolment;
  /** Keeps ledgers, verdicts and health up to date. */
  readonly reviews: ReviewJob;
  /** While nobody can administer the programme: the one-time link that sets up the first administrator. */
  readonly setUpLink: string | null;
  /** No new work; what was taken is committed; sockets and database closed. Twice is once. */
  stop(): Promise<void>;
}

const brokerHost = (url: string): string => new URL(url).hostname.replace(/^\[|\]$/g, "");

/** The composition root: builds every part, in the order in which each needs the one before.
 *  @throws when the data folder, a key file or a port can't be had: whoever starts it says so and stops */
export async function startService(options: ServiceOptions): Promise<RunningService> {
  const { config, clock, chance, log } = options;
  const undo: (() => void | Promise<void>)[] = [];
  const stop = stopOnce(undo);
  try {
    const database = openDatabase(config.dataFolder);
    undo.push(() => database.close());
    const storage = new StorageWatch(config.dataFolder, database);
    const written = await openTelemetryThread(database, config.dataFolder, {
      died: (why) => log.error({ err: why }, "the telemetry writer has ended; another is started"),
    });
    undo.push(() => written.close());
    const services = servicesOn(options, database, storage.over(written.telemetry));
    const stopping = new AbortController();

    // The port comes first: without a configured address it is part of the console's own.
    let app: Hono<AppEnv> = startingApp();
    const listening = await listen(() => app, config.port);
    const closeConsole = () => {
      stopping.abort();
      return listening.close();
    };
    undo.push(closeConsole);
    const url = config.baseUrl ?? `http://localhost:${listening.port}`;

    const opened = await openEnrolment(
      { clock, chance },
      {
        dataFolder: config.dataFolder,
        broker: config.frontBroker ?? { host: brokerHost(url), port: config.mqttPort },
      },
    );
    const pace = options.demo?.pace ?? everyRound;
    const dailyLook = onceADay(lookForIdentityTrouble);
    const reviews = startReviewJob(services, {
      reviewUnit: async (on, unit, how) => pace.mayReview() && (await reviewUnit(on, unit, how)),
      assessUnits: async (on, units, how) => {
        if (pace.mayAssess()) await assessUnits(on, units, how);
      },
      lookFurther: async (on, unit) => {
        if (pace.mayAssess()) await dailyLook(on, unit);
      },
      isUrgent,
      watchFleet: async (on) => {
        if (pace.mayReview()) await watchFleet(on);
      },
    });
    undo.push(() => reviews.stop());
    undo.push(
      services.live.follow(["settings", "record-moved"], () => void reviews.runNow({ afresh: true })),
    );
    const broker = await carrierOf(config, opened.authority, {
      services,
      onCommitted: (units, alarmed) => reviews.wake(units, alarmed),
      answerRenewal: (asked) => renewCertificate(services, opened.authority, asked),
    });
    undo.push(() => broker.stop());
    const certificates = keepCertificates(opened.authority, log, () =>
      broker.show(credentialsIn(opened.authority, config)),
    );
    undo.push(() => certificates.stop());
    // What an upgrade has learned to read. Beside all else: a fault in it must not keep the service from starting.
    void readAsideAgain(services).catch((error: unknown) =>
      log.error({ err: error }, "messages kept aside could not be read again"),
    );
    const commands = startCommandJob(services);
    undo.push(() => commands.stop());
    // A demonstration moves its clock through weeks.
    const clockWatch = options.demo === undefined ? startClockWatch(services) : null;
    undo.push(() => clockWatch?.stop());
    const enrolment = { ...opened, broker: { ...opened.broker, port: broker.port } };

    const cast = options.demo?.cast ?? [];
    const appOptions = { baseUrl: url, cast, invented: options.demo !== undefined, storage };
    const readiness = {
      database: () => storage.look() === null,
      broker: () => broker.isReachable(),
      authority: () => enrolment.authority.usable(),
    };
    const routes = allRoutes({
      services,
      enrolment,
      options: appOptions,
      readiness,
      metrics: config.metricsToken ? { token: config.metricsToken, render: () => broker.metrics() } : null,
      loadLog: (file, unit, actor) =>
        loadLog(services, file, { unit, actor, onCommitted: (units) => reviews.wake(units) }),
      stopping: stopping.signal,
    });
    app = createApp(services, routes, appOptions);
    // Opened first for its port, but the first to be closed: no new work. Closing it again afterwards does nothing.
    undo.push(closeConsole);
    log.info({ url, mqttPort: broker.port, zone: config.zone }, "started");
    return {
      url,
      mqttPort: broker.port,
      services,
      enrolment,
      reviews,
      setUpLink: options.demo ? null : setUpLinkFor(services, url),
      stop,
    };
  } catch (error) {
    await stop();
    throw error;
  }
}

/** Our own broker, or our ear at the one in front. */
async function carrierOf(config: Config, authority: Authority, wayIn: WayInOptions): Promise<RunningBroker> {
  const credentials = credentialsIn(authority, config);
  if (config.frontBroker === null) return startBroker({ ...wayIn, credentials, port: config.mqttPort });
  return subscribeToFront({ ...wayIn, ...config.frontBroker, credentials, name: consoleName });
}

/** What whoever carries our messages shows. */
const credentialsIn = (authority: Authority, { frontBroker }: Config): BrokerCredentials => ({
  ...(frontBroker === null ? authority.broker : authority.console),
  authority: authority.rootPem,
});

/** Weeks of a record are read for it, so that once a day and unit is enough. */
function onceADay(look: (services: Services, unit: UnitSerial) => Promise<void>) {
  const lastAt = new Map<UnitSerial, number>();
  return async (services: Services, unit: UnitSerial): Promise<void> => {
    const now = services.clock.now();
    if (now - (lastAt.get(unit) ?? 0) < 24 * millisecondsIn.hour) return;
    lastAt.set(unit, now);
    await look(services, unit);
  };
}

function servicesOn(
  { config, clock, chance, log }: ServiceOptions,
  { db }: OpenDatabase,
  telemetry: TelemetryStore,
): Services {
  return { clock, chance, log, zone: config.zone, db, telemetry, live: createLiveEvents() };
}

/** Undoes in the reverse order of doing; one part that fails to stop doesn't keep the others open. */
function stopOnce(undo: readonly (() => void | Promise<void>)[]): () => Promise<void> {
  let stopped: Promise<void> | undefined;
  const run = async () => {
    const failures: unknown[] = [];
    for (const each of [...undo].reverse()) {
      try {
        await each();
      } catch (error) {
        failures.push(error);
      }
    }
    if (failures.length > 0) throw new AggregateError(failures, "parts of the service did not stop cleanly");
  };
  return () => {
    stopped ??= run();
    return stopped;
  };
}

/** Made anew at each start until there is an administrator; the one before stops working. */
function setUpLinkFor(services: Services, url: string): string | null {
  return needsSetUp(services.db) ? `${url}/set-up/${makeInvitation(services, null)}` : null;
}

function startingApp(): Hono<AppEnv> {
  const app = new Hono<AppEnv>();
  app.all("*", (context) => context.text("Starting.", 503, { "Retry-After": "2" }));
  return app;
}
