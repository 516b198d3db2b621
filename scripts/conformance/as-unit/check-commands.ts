import type { Command } from "../../../firmware-protocol/src/downlink.ts";
import { encodeUplink } from "../../../firmware-protocol/src/encode.ts";
import type { Result } from "../../../firmware-protocol/src/messages.ts";
import { uplinkTopic } from "../../../firmware-protocol/src/topics.ts";
import type { FromServer } from "./downlink.ts";
import type { Run } from "./run.ts";
import type { Session } from "./session.ts";

/** Long enough for what is sent on subscribing. */
const sentOnSubscribing = 3_000;

/** A run can't give a command: somebody at the server does, before the run or while it waits. */
export async function checkCommands(run: Run, waitSeconds: number): Promise<void> {
  const { findings, words } = run;
  const first = await run.connect();
  const command = await first.next(isCommand(null), Math.max(sentOnSubscribing, waitSeconds * 1_000));
  if (command === null) {
    first.link.cut();
    findings.notTried(
      "FP-11.1",
      "no command was given; give the unit one, and wait for it with --command-seconds",
    );
    return;
  }
  first.link.cut();
  const { id } = command;
  const second = await run.connect();
  const again = await second.next(isCommand(id), sentOnSubscribing);
  findings.check(
    "FP-11.1",
    again !== null,
    "a command came again on subscribing while it had no result",
    `${id} did not come again on subscribing`,
  );
  await answer(run, second, words.result(id, "accepted"));
  second.link.cut();
  const third = await run.connect();
  const stillOpen = await third.next(isCommand(id), sentOnSubscribing);
  findings.check(
    "FP-11.1",
    stillOpen !== null,
    "and again after it was accepted, which does not end it",
    `${id} did not come again after it was accepted`,
  );
  await answer(run, third, words.result(id, "done"));
  third.link.cut();
  const fourth = await run.connect();
  const afterwards = await fourth.next(isCommand(id), sentOnSubscribing);
  findings.check(
    "FP-11.1",
    afterwards === null,
    "and no more once a receipt covered that it was done",
    `${id} came again after a receipt covered that it was done`,
  );
  fourth.link.cut();
}

const isCommand =
  (id: string | null) =>
  (message: FromServer): message is Command =>
    message.kind === "command" && (id === null || message.id === id);

async function answer(run: Run, session: Session, result: Result): Promise<void> {
  run.book.published(result.sequence);
  await session.publish(uplinkTopic(run.words.unit, "result"), encodeUplink(result));
  await session.receipted(result.sequence);
}
