/** `read-times-process.ts <data folder> <days>`: how long the first unit's record takes to read and lay out, as JSON. */
import { loanId } from "../../../server/domain/ids.ts";
import { buildLedger } from "../../../server/domain/ledger/build-ledger.ts";
import { observedStates } from "../../../server/domain/ledger/minute-state.ts";
import { daysTouched, type ZoneName, zoneName } from "../../../server/domain/time/local-day.ts";
import { instant, millisecondsIn, type Span } from "../../../server/domain/units.ts";
import { openDatabase } from "../../../server/store/database.ts";
import { createTelemetryStore } from "../../../server/store/telemetry.ts";
import type { TelemetryStore } from "../../../server/store/telemetry-port.ts";
import { benchUnit, lifeStarts } from "./life.ts";

export interface ReadTime {
  /** Milliseconds. */
  readonly read: number;
  /** With the ledger. */
  readonly both: number;
}

export interface MinutesTime {
  /** Milliseconds until each minute is at hand by itself, as verdicts ask for them. */
  readonly oneByOne: number;
}

export interface ReadTimes {
  /** The store knew of nothing. */
  readonly cold: readonly ReadTime[];
  readonly warm: readonly ReadTime[];
  readonly minutes: readonly MinutesTime[];
  readonly first: ReadTime;
}

const warmUps = 10;
const rounds = 100;

const [folder = "", asked = ""] = process.argv.slice(2);
const days = Number(asked);
const zone = zoneOf("Europe/London");
const span: Span = { start: lifeStarts, end: instant(lifeStarts + days * 24 * millisecondsIn.hour) };
const window = { loan: loanId("loan_bench"), start: lifeStarts, end: null };
const database = openDatabase(folder, { again: true });
console.log(JSON.stringify(await allTimes()));
database.close();

/** A service runs for months: the first rounds, of code not compiled yet, are told apart. */
async function allTimes(): Promise<ReadTimes> {
  const anew = () => timed(createTelemetryStore(database));
  const [first = { read: 0, both: 0 }] = await times(warmUps, anew);
  const cold = await times(days > 30 ? rounds / 4 : rounds, anew);
  const opened = createTelemetryStore(database);
  const [, ...warm] = await times(20, () => timed(opened));
  const minutes = await times(20, oneByOne);
  return { cold, warm, minutes, first };
}

async function times<Time>(count: number, run: () => Promise<Time>): Promise<Time[]> {
  const seen: Time[] = [];
  for (let round = 0; round < count; round++) seen.push(await run());
  return seen;
}

async function timed(telemetry: TelemetryStore): Promise<ReadTime> {
  const began = performance.now();
  const record = await telemetry.read(benchUnit(0), span);
  const read = performance.now() - began;
  const ledger = buildLedger({ window, record, now: span.end, zone }, daysTouched(span, zone));
  const both = performance.now() - began;
  const recorded = ledger.flatMap(({ minutes }) => observedStates.map((state) => minutes[state]));
  enough(recorded.reduce((sum, minutes) => sum + minutes, 0));
  return { read, both };
}

async function oneByOne(): Promise<MinutesTime> {
  const telemetry = createTelemetryStore(database);
  const began = performance.now();
  const { minutes } = await telemetry.read(benchUnit(0), span);
  const took = performance.now() - began;
  enough(minutes.length);
  return { oneByOne: took };
}

function enough(recorded: number): void {
  if (recorded < days * 1_300) throw new Error("the record isn't all there");
}

function zoneOf(name: string): ZoneName {
  const zone = zoneName(name);
  if (zone === null) throw new Error(`no such zone: ${name}`);
  return zone;
}
