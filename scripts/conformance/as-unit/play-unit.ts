import { readClauses } from "../clauses.ts";
import { Findings, type Ruling } from "../findings.ts";
import { reasonsOfServer } from "../reasons.ts";
import { checkCommands } from "./check-commands.ts";
import { checkConnection } from "./check-connection.ts";
import { checkEnrolment, type Enrolling } from "./check-enrolment.ts";
import { checkMessages } from "./check-messages.ts";
import { checkReceipts } from "./check-receipts.ts";
import { checkRenewal } from "./check-renewal.ts";
import type { Identity } from "./identity.ts";
import { Run } from "./run.ts";

export interface PlayUnitOptions {
  readonly who: Identity | Enrolling;
  /** A boot number above every one this serial has had. */
  readonly boot: number;
  readonly commandSeconds: number;
  readonly renew: boolean;
  /** What it is doing, for whoever waits. */
  readonly say: (line: string) => void;
}

/** Plays a unit against a server.
 *  @throws where the server doesn't let the unit in at all */
export async function playUnit(options: PlayUnitOptions): Promise<readonly Ruling[]> {
  const { who, boot, say } = options;
  const findings = new Findings();
  const identity = "code" in who ? await checkEnrolment(findings, who) : who;
  const run = new Run(identity, findings, boot);
  say("Who gets in, and what it may touch.");
  await checkConnection(run);
  say("Receipts, resends and holes.");
  await checkReceipts(run);
  say("Messages of newer units, unreadable, hostile and too large ones.");
  await checkMessages(run);
  say("Commands.");
  await checkCommands(run, options.commandSeconds);
  if (options.renew || "code" in who) {
    say("A new certificate.");
    await checkRenewal(run);
  }
  run.downlink.sumUp();
  if (run.book.count > 0)
    findings.holds("FP-6.6", `each of ${run.book.count} receipts was true when it came`);
  return findings.rulings(readClauses(), reasonsOfServer);
}
