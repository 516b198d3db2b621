import type { PointReading, StepFacts } from "../domain/bench/reading.ts";
import { stepById } from "../domain/bench/steps.ts";
import type { RecordedFrame } from "../domain/record/unit-record.ts";
import { instant, millisecondsIn } from "../domain/units.ts";
import type { Services } from "../services.ts";
import type { BenchSessionRow } from "../store/bench-sessions.ts";
import { pairingCodesOfBenchSession } from "../store/pairing-codes.ts";
import { recallsBarringIssue } from "../store/recalls.ts";
import { commandOfUnit } from "../store/unit-commands.ts";
import { unitBySerial } from "../store/units.ts";
import { appliedLoad } from "./bench-ask.ts";

/** A unit writes whole seconds, and its clock is placed to within one or two. */
const clockSlack = 3 * millisecondsIn.second;

/** What has come of what was asked last. */
export interface AskedProgress {
  readonly point: string;
  readonly have: number;
  readonly want: number;
  /** Newest last; the live map shows it, kept or not. */
  readonly frames: readonly RecordedFrame[];
  /** The unit said no, with its reason. */
  readonly refusal: string | null;
  /** All there, and may be kept. */
  readonly reading: PointReading | null;
  readonly facts: StepFacts | null;
}

/** Since when the session has been recorded by the unit at all: frames of it, whether asked for or not. */
export async function framesOfSession(
  services: Services,
  session: BenchSessionRow,
): Promise<readonly RecordedFrame[]> {
  const { frames } = await recordOf(services, session);
  return frames;
}

function recordOf({ telemetry, clock }: Services, session: BenchSessionRow) {
  const end = session.endedAt ?? instant(clock.now() + millisecondsIn.minute);
  return telemetry.read(session.unitSerial, { start: instant(session.startedAt - clockSlack), end });
}

/** @returns null while nothing is asked */
export async function progressOf(
  services: Services,
  session: BenchSessionRow,
): Promise<AskedProgress | null> {
  const { asked } = session;
  if (asked === null) return null;
  const record = await recordOf(services, session);
  const commands = asked.commands.flatMap((id) => commandOfUnit(services.db, session.unitSerial, id) ?? []);
  const refusal = commands.find(({ state }) => state === "refused")?.answer?.reason ?? null;
  if (stepById(session.step).points.length === 0) {
    const facts = factsOf(services, session, record, commands[0]?.state === "done");
    const have = facts === null ? 0 : 1;
    return { point: asked.point, have, want: 1, frames: [], refusal, reading: null, facts };
  }
  const want = session.tolerances.repeats;
  const frames = record.frames.filter(
    ({ at, receivedAt }) => at >= asked.at - clockSlack && receivedAt >= asked.at,
  );
  // As many commands are done as frames were sent for them: a picture the unit took of itself is then among those.
  const done = commands.filter(({ state }) => state === "done").length;
  const have = Math.min(frames.length, done, want);
  const reading = have < want ? null : readingFrom(services, session, frames.slice(-want));
  return { point: asked.point, have, want, frames, refusal, reading, facts: null };
}

function readingFrom(
  { db }: Services,
  session: BenchSessionRow,
  frames: readonly RecordedFrame[],
): PointReading | null {
  const last = frames.at(-1);
  if (last === undefined || session.asked === null) return null;
  const { rows, columns } = last;
  if (frames.some((frame) => frame.rows !== rows || frame.columns !== columns)) return null;
  return {
    point: session.asked.point,
    takenAt: last.at,
    rows,
    columns,
    frames: frames.map(({ cells }) => Array.from(cells)),
    temperature: frames.reduce((sum, { temperature }) => sum + temperature, 0) / frames.length,
    reference: appliedLoad(db, session),
  };
}

function factsOf(
  services: Services,
  session: BenchSessionRow,
  record: Awaited<ReturnType<typeof recordOf>>,
  answered: boolean,
): StepFacts | null {
  const { asked } = session;
  if (asked === null || !answered) return null;
  switch (session.step) {
    case "line-sweep": {
      const test = record.selfTests.find(({ command }) => asked.commands.some((id) => id === command));
      if (test === undefined) return null;
      const { cellsTested, cellsFailed, failedCells, failedRows, failedColumns } = test;
      return { sweep: { cellsTested, cellsFailed, failedCells, failedRows, failedColumns } };
    }
    case "battery": {
      const minute = record.minutes.findLast(({ power }) => power === "on-battery");
      if (minute === undefined) return null;
      return { battery: { millivolts: minute.cell, temperature: minute.temperature, hazardSeen: false } };
    }
    default:
      return { identity: identityOf(services, session, record) };
  }
}

function identityOf(
  { db, clock }: Services,
  session: BenchSessionRow,
  record: Awaited<ReturnType<typeof recordOf>>,
): NonNullable<StepFacts["identity"]> {
  const greeting = record.greetings.at(-1);
  const boot = record.boots.at(-1);
  const frame = record.frames.at(-1);
  const spent = pairingCodesOfBenchSession(db, session.id).find(({ spentAt }) => spentAt !== null);
  const ends = greeting?.certificateEnds ?? null;
  return {
    firmware:
      spent === undefined
        ? null
        : (greeting?.firmware ?? unitBySerial(db, session.unitSerial)?.firmware ?? null),
    rows: boot?.rows ?? frame?.rows ?? null,
    columns: boot?.columns ?? frame?.columns ?? null,
    recalledBy: recallsBarringIssue(db).get(session.unitSerial) ?? [],
    certificateDays: ends === null ? null : Math.floor((ends - clock.now()) / (24 * millisecondsIn.hour)),
  };
}
