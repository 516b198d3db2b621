import { randomBytes } from "node:crypto";
import { RunAuthority } from "../authority.ts";
import { readClauses } from "../clauses.ts";
import { Findings, type Ruling } from "../findings.ts";
import { reasonsOfUnit } from "../reasons.ts";
import { type EnrolDesk, openEnrolDesk } from "./enrol-desk.ts";
import { sceneOfCommands } from "./scene-commands.ts";
import { sceneOfConnecting } from "./scene-connect.ts";
import { sceneOfForgetting } from "./scene-forget.ts";
import { sceneOfKeeping } from "./scene-keeping.ts";
import { sceneOfNewer } from "./scene-newer.ts";
import { sceneOfRenewal } from "./scene-renewal.ts";
import { sceneOfTrust } from "./scene-trust.ts";
import { Stage } from "./stage.ts";
import { checkClock, sumUp } from "./sum-up.ts";

export interface PlayServerOptions {
  readonly unit: string;
  /** The name or address by which the unit reaches this machine. */
  readonly host: string;
  /** 0: any free one. */
  readonly mqttPort: number;
  readonly enrolPort: number;
  /** What the unit is told is the time; Unix milliseconds. */
  readonly now: () => number;
  readonly patienceSeconds: number;
  /** Times the pauses in which nothing must come; 1 is right for a unit behind a radio. */
  readonly pauseFactor?: number;
  /** Also tell the unit to forget everything. */
  readonly forget: boolean;
  readonly say: (line: string) => void;
  /** The unit can come now: it enrols with this code at this address. */
  readonly ready: (enrol: { readonly url: string; readonly code: string }) => void;
}

/** Plays the server for one unit.
 *  @returns what was seen until the unit had gone through everything, or stayed away */
export async function playServer(options: PlayServerOptions): Promise<readonly Ruling[]> {
  const findings = new Findings();
  const authority = await RunAuthority.make();
  const stage = await Stage.set({
    ...options,
    port: options.mqttPort,
    authority,
    findings,
    patience: options.patienceSeconds * 1_000,
    pauseFactor: options.pauseFactor ?? 1,
  });
  const code = newCode();
  const broker = { host: options.host, port: stage.server.port };
  const desk = await openEnrolDesk({
    ...options,
    code,
    authority,
    findings,
    broker,
    port: options.enrolPort,
  });
  const ready = (): void => options.ready({ url: `http://${options.host}:${desk.port}`, code });
  try {
    await playScenes(stage, options, ready);
  } catch (problem) {
    options.say(problem instanceof Error ? problem.message : String(problem));
  } finally {
    await close(stage, desk);
  }
  sumUp(stage);
  return findings.rulings(readClauses(), reasonsOfUnit);
}

async function playScenes(
  stage: Stage,
  { say, forget }: PlayServerOptions,
  ready: () => void,
): Promise<void> {
  // Ids are never given twice (FP-7.10), not by another run either.
  const tag = `r${randomBytes(4).toString("hex")}`;
  say("Brokers that the unit must not trust.");
  await sceneOfTrust(stage, ready);
  say("How it connects, and what it keeps without a receipt.");
  let visit = await sceneOfKeeping(stage, await sceneOfConnecting(stage));
  stage.giveReceipts(true);
  stage.receipt(visit);
  say("What newer servers may send, and what nobody can read.");
  await sceneOfNewer(stage, visit);
  visit = await stage.present(visit);
  say("Commands.");
  await sceneOfCommands(stage, visit, tag);
  checkClock(stage);
  visit = await stage.present(visit);
  say("A new certificate.");
  visit = await sceneOfRenewal(stage, visit, tag);
  if (!forget) return;
  visit = await stage.present(visit);
  say("Forgetting everything.");
  await sceneOfForgetting(stage, visit, tag);
}

async function close(stage: Stage, desk: EnrolDesk): Promise<void> {
  await desk.stop();
  await stage.server.stop();
}

/** Letters and digits that nobody takes for one another. */
const letters = "23456789ABCDEFGHJKMNPQRSTVWXYZ";

function newCode(): string {
  const text = [...randomBytes(16)].map((byte) => letters[byte % letters.length]).join("");
  return (text.match(/.{4}/g) ?? []).join("-");
}
