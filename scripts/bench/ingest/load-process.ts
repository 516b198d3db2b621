/** The units of the bench, in a process of their own: MQTT 3.1.1 on TLS, each with its own certificate. Does what its
 *  parent asks, one thing after another, and answers with what it saw. */
import { readFileSync } from "node:fs";
import { setImmediate as nextTurn, setTimeout as wait } from "node:timers/promises";
import { createSecureContext } from "node:tls";
import { unitSerial } from "../../../server/domain/ids.ts";
import { percentile } from "../result.ts";
import { liveReport } from "./live-reports.ts";
import { type Prepared, prepared, type Shape } from "./load-messages.ts";
import { LoadUnit } from "./load-unit.ts";

export type LoadCommand =
  | {
      readonly do: "connect";
      readonly port: number;
      readonly credentialsFile: string;
      readonly units: number;
    }
  /** As fast as they are acknowledged. */
  | { readonly do: "saturate"; readonly messages: number; readonly inFlight: number; readonly shape: Shape }
  /** So many a second, whatever is acknowledged, by these units alone. */
  | {
      readonly do: "steady";
      readonly perSecond: number;
      readonly seconds: number;
      readonly shape: Shape;
      readonly fromUnit: number;
      readonly toUnit: number;
    }
  /** The first so many units send all that they kept, as fast as it is acknowledged, while the others report live. */
  | {
      readonly do: "catch-up";
      readonly each: number;
      readonly inFlight: number;
      readonly shape: Shape;
      readonly units: number;
      readonly livePerSecond: number;
    }
  | { readonly do: "quit" };

export interface CatchUpAnswer extends LoadAnswer {
  readonly live: {
    readonly messages: number;
    readonly longest: number;
    /** How many were acknowledged in each tenth of the backlog, from the first to the last. */
    readonly throughout: readonly number[];
  };
}

export interface LoadAnswer {
  readonly messages: number;
  readonly seconds: number;
  readonly p50: number;
  readonly p99: number;
  readonly longest: number;
  readonly dropped: number;
  readonly payloadBytes: number;
}

const connectingAtOnce = 40;
const units: LoadUnit[] = [];
let nextSequence = 0;

async function connectAll(port: number, credentialsFile: string, count: number): Promise<void> {
  const { key, ca, certificates }: Credentials = JSON.parse(readFileSync(credentialsFile, "utf8"));
  const waiting = certificates.slice(0, count);
  const connectNext = async (): Promise<void> => {
    for (let next = waiting.shift(); next !== undefined; next = waiting.shift()) {
      const secureContext = createSecureContext({ key, ca, cert: next.certificate });
      units.push(await LoadUnit.connect({ port, secureContext, unit: unitSerial(next.unit) }));
    }
  };
  await Promise.all(Array.from({ length: connectingAtOnce }, connectNext));
}

interface Credentials {
  readonly key: string;
  readonly ca: string;
  readonly certificates: { readonly unit: string; readonly certificate: string }[];
}

async function saturate(messages: number, inFlight: number, shape: Shape): Promise<LoadAnswer> {
  return await drain(units, await stockOf(units, Math.ceil(messages / units.length), shape), inFlight);
}

/** What each unit is going to send, made beforehand. */
async function stockOf(who: readonly LoadUnit[], each: number, shape: Shape): Promise<Prepared[][]> {
  const first = nextSequence;
  nextSequence += each;
  const stock: Prepared[][] = [];
  for (const { unit } of who) {
    stock.push(prepared(unit, first, each, shape));
    await nextTurn();
  }
  return stock;
}

async function drain(
  who: readonly LoadUnit[],
  stock: readonly Prepared[][],
  inFlight: number,
): Promise<LoadAnswer> {
  for (const unit of who) unit.startMeasuring();
  const began = performance.now();
  await Promise.all(who.map((unit, at) => unit.sendAll(stock[at] ?? [], inFlight)));
  return answer(who, began, stock.flat());
}

async function catchUp(command: Extract<LoadCommand, { do: "catch-up" }>): Promise<CatchUpAnswer> {
  const late = units.slice(0, command.units);
  const live = units.slice(command.units);
  const stock = await stockOf(late, command.each, command.shape);
  for (const unit of live) unit.startMeasuring();
  const throughout = Array.from({ length: 10 }, () => 0);
  const answeredOf = (who: readonly LoadUnit[]) =>
    who.reduce((sum, { ackMilliseconds }) => sum + ackMilliseconds.length, 0);
  let noted = 0;
  const note = () => {
    const tenth = Math.floor((10 * answeredOf(late)) / (late.length * command.each));
    const answered = answeredOf(live);
    if (tenth < 10) throughout[tenth] = (throughout[tenth] ?? 0) + answered - noted;
    noted = answered;
  };
  let going = true;
  const reporting = (async () => {
    for (let sent = 0; going; sent++) {
      const unit = live[sent % live.length];
      const [message] = unit ? prepared(unit.unit, nextSequence++, 1, liveReport) : [];
      if (message !== undefined) unit?.send(message);
      await wait(1_000 / command.livePerSecond);
      note();
    }
  })();
  const backlog = await drain(late, stock, command.inFlight);
  going = false;
  await reporting;
  await allAnswered(live);
  const times = live.flatMap((unit) => unit.ackMilliseconds);
  return { ...backlog, live: { messages: times.length, longest: Math.max(...times), throughout } };
}

async function allAnswered(who: readonly LoadUnit[]): Promise<void> {
  const until = performance.now() + 10_000;
  while (who.some((unit) => unit.unanswered > 0) && performance.now() < until) await wait(20);
}

async function steady(command: Extract<LoadCommand, { do: "steady" }>): Promise<LoadAnswer> {
  const who = units.slice(command.fromUnit, command.toUnit);
  const total = command.perSecond * command.seconds;
  const stock = await stockOf(who, Math.ceil(total / who.length), command.shape);
  for (const unit of who) unit.startMeasuring();
  const began = performance.now();
  let sent = 0;
  while (sent < total) {
    const due = Math.min(total, ((performance.now() - began) / 1_000) * command.perSecond);
    for (; sent < due; sent++) {
      const message = stock[sent % who.length]?.[Math.floor(sent / who.length)];
      if (message !== undefined) who[sent % who.length]?.send(message);
    }
    await wait(5);
  }
  await allAnswered(who);
  return answer(who, began, stock.flat());
}

function answer(who: readonly LoadUnit[], began: number, sent: readonly Prepared[]): LoadAnswer {
  const times = who.flatMap((unit) => unit.ackMilliseconds);
  return {
    messages: times.length,
    seconds: (performance.now() - began) / 1_000,
    p50: percentile(times, 0.5),
    p99: percentile(times, 0.99),
    longest: times.reduce((longest, time) => Math.max(longest, time), 0),
    dropped: units.filter((unit) => unit.isGone).length,
    payloadBytes: sent.reduce((sum, { bytes }) => sum + bytes, 0) / sent.length,
  };
}

async function obey(command: LoadCommand): Promise<unknown> {
  switch (command.do) {
    case "connect": {
      const began = performance.now();
      await connectAll(command.port, command.credentialsFile, command.units);
      return { seconds: (performance.now() - began) / 1_000 };
    }
    case "saturate":
      return await saturate(command.messages, command.inFlight, command.shape);
    case "steady":
      return await steady(command);
    case "catch-up":
      return await catchUp(command);
    case "quit":
      for (const unit of units) unit.hangUp();
      process.exit(0);
  }
}

// Without its parent it has nothing to do.
process.on("disconnect", () => process.exit(1));
process.on("message", (numbered: { readonly number: number; readonly command: LoadCommand }) => {
  obey(numbered.command).then(
    (answer) => process.send?.({ number: numbered.number, answer }),
    (error: unknown) => process.send?.({ number: numbered.number, error: String(error) }),
  );
});
