import type { Result, UplinkMessage } from "../../../firmware-protocol/src/messages.ts";
import { nameOf } from "./heard.ts";
import { isEnding } from "./scene-commands.ts";
import type { Stage } from "./stage.ts";
import type { Visit } from "./visit.ts";

const week = 7 * 86_400;

/** Forget everything: only once a receipt covers all that was told (FP-11.8). */
export async function sceneOfForgetting(stage: Stage, visit: Visit, tag: string): Promise<void> {
  const { findings, options } = stage;
  const id = `${tag}-forget`;
  stage.giveReceipts(false);
  visit.say({
    kind: "command",
    id,
    expiresUnixSeconds: Math.floor(options.now() / 1_000) + week,
    action: "forget",
  });
  const accepted = await visit.next(options.patience, isAccepted(id));
  findings.check(
    "FP-11.8",
    accepted !== null,
    "forget was answered accepted",
    "forget was not answered accepted",
  );
  const early = await visit.next(stage.quiet(2_000), isEnding(id));
  findings.check(
    "FP-11.8",
    early === null,
    "it was not carried out before the receipt",
    `it was ${early?.state} before a receipt covered what the unit keeps`,
  );
  if (accepted === null) return;
  stage.receipt(visit, new Set([nameOf(accepted)]));
  const stillEarly = await visit.next(stage.quiet(2_000), isEnding(id));
  findings.check(
    "FP-11.8",
    stillEarly === null,
    "nor while its own answer lay in a hole",
    `it was ${stillEarly?.state} while its own answer lay in a hole of the receipt`,
  );
  stage.giveReceipts(true);
  stage.receipt(visit);
  const done = await visit.next(options.patience, isEnding(id));
  findings.check(
    "FP-11.8",
    done?.state === "done",
    "and was done after it",
    `after the receipt it was ${done?.state ?? "not ended"}`,
  );
}

const isAccepted =
  (id: string) =>
  (message: UplinkMessage): message is Result =>
    message.kind === "result" && message.command === id && message.state === "accepted";
