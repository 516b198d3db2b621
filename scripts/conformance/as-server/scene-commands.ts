import type { Command, CommandAction } from "../../../firmware-protocol/src/downlink.ts";
import { encodeDownlink } from "../../../firmware-protocol/src/encode.ts";
import type { Result, SelfTest, UplinkMessage } from "../../../firmware-protocol/src/messages.ts";
import { nameOf } from "./heard.ts";
import type { Stage } from "./stage.ts";
import type { Visit } from "./visit.ts";

const day = 86_400;

/** Commands, each done once (section 11). Receipts are given, so that the unit's clock is set. */
export async function sceneOfCommands(stage: Stage, visit: Visit, tag: string): Promise<void> {
  const now = Math.floor(stage.options.now() / 1_000);
  const command = (name: string, action: CommandAction, expires = now + 7 * day): Command => ({
    kind: "command",
    id: `${tag}-${name}`,
    expiresUnixSeconds: expires,
    action,
  });
  await twice(stage, visit, command("test", "self-test"));
  await tooLate(stage, visit, command("late", "self-test", now - day));
  await unreadable(stage, visit, command("new", "report"), "unsupported");
  await unreadable(stage, visit, command("odd", "report"), "unreadable");
  await eachAction(stage, visit, command);
}

/** The same command three times: twice before its result is receipted, and once after. */
async function twice(stage: Stage, visit: Visit, command: Command): Promise<void> {
  const { findings, options } = stage;
  stage.giveReceipts(false);
  visit.say(command);
  visit.say(command);
  const result = await visit.next(options.patience, isEnding(command.id));
  if (result === null) {
    findings.broken("FP-11.3", "a self-test was asked for, and no result that ends it came");
    stage.giveReceipts(true);
    return;
  }
  findings.holds("FP-11.3", `a self-test was answered ${result.state}`);
  const more = await anotherResult(stage, visit, result, stage.quiet(2_000));
  findings.check(
    "FP-11.2",
    more === null,
    "a command that came twice was answered once while no receipt covered its result",
    "a command that came twice got two results though no receipt covered the first",
  );
  checkOrder(stage, result);
  stage.giveReceipts(true);
  stage.receipt(visit);
  // The receipt must have reached the unit before the command comes a third time: both go the same way, in order.
  visit.say(command);
  const again = await anotherResult(stage, visit, result, options.patience);
  const same = again !== null && again.state === result.state && again.reason === result.reason;
  findings.check(
    "FP-11.2",
    same,
    "and the same once more after a receipt covered it",
    again === null
      ? "a command that came again after its result was receipted was not answered"
      : `a command that came again was answered ${again.state} after ${result.state}`,
  );
  const tests = selfTestsFor(stage, command.id).length;
  const asked = result.state === "done" ? 1 : 0;
  findings.check(
    "FP-11.2",
    tests === asked,
    `delivered three times it was carried out ${tests} times`,
    `delivered three times it was carried out ${tests} times`,
  );
}

const anotherResult = (stage: Stage, visit: Visit, known: Result, wait: number): Promise<Result | null> => {
  const name = nameOf(known);
  return visit.next(
    Math.min(wait, stage.options.patience),
    (message): message is Result => isEnding(known.command)(message) && nameOf(message) !== name,
  );
};

/** [FP-11.7] */
function checkOrder(stage: Stage, result: Result): void {
  if (result.state !== "done") return;
  const test = selfTestsFor(stage, result.command)[0];
  const before = test !== undefined && (test.boot < result.boot || test.sequence < result.sequence);
  stage.findings.check(
    "FP-11.7",
    before,
    "the self-test was written before the result that says done",
    test === undefined
      ? "done was said, and no self-test came"
      : "the result that says done was written before the self-test",
  );
}

async function tooLate(stage: Stage, visit: Visit, command: Command): Promise<void> {
  visit.say(command);
  const result = await visit.next(stage.options.patience, isEnding(command.id));
  const begun = selfTestsFor(stage, command.id).length > 0;
  stage.findings.check(
    "FP-11.4",
    result?.state === "expired" && !begun,
    "a command after its expiry was answered expired, and not begun",
    `a command after its expiry was answered ${result?.state ?? "nothing"}${begun ? ", and carried out" : ""}`,
  );
}

/** An action that is none yet, and an action with an entry that does not belong to it. */
async function unreadable(
  stage: Stage,
  visit: Visit,
  command: Command,
  reason: Result["reason"],
): Promise<void> {
  const bytes = Buffer.from(encodeDownlink(command));
  const broken = reason === "unsupported" ? Buffer.of(0x17) : Buffer.of(0xf5);
  visit.sayBytes("command", Buffer.concat([bytes.subarray(0, -1), broken]));
  const result = await visit.next(stage.options.patience, isEnding(command.id));
  stage.findings.check(
    "FP-11.5",
    result?.state === "refused" && result.reason === reason,
    `one it could not carry out was refused as ${reason}`,
    `one that should be refused as ${reason} was answered ${result === null ? "nothing" : `${result.state} ${result.reason ?? ""}`}`,
  );
}

async function eachAction(
  stage: Stage,
  visit: Visit,
  command: (name: string, action: CommandAction) => Command,
): Promise<void> {
  const { findings, options } = stage;
  for (const action of ["identify", "frame", "report"] as const) {
    const asked = command(action, action);
    visit.say(asked);
    const result = await visit.next(options.patience, isEnding(asked.id));
    findings.check(
      "FP-11.3",
      result !== null,
      `${action} was answered ${result?.state}`,
      `${action} was not answered`,
    );
  }
  for (const version of [9, 0xffff_0000]) {
    if (version === 9)
      visit.say({ kind: "plan", version, intervalMinutes: 30, holdSeconds: 60, kinds: ["lift"] });
    const asked = { ...command(`plan-${version}`, "plan"), planVersion: version };
    visit.say(asked);
    const result = await visit.next(options.patience, isEnding(asked.id));
    const good = version === 9 ? result?.state === "done" : result !== null && result.state !== "done";
    findings.check(
      "FP-7.5",
      good,
      version === 9 ? "a plan that came was in force" : "one that did not come was not said to be",
      `the command for plan ${version} was answered ${result?.state ?? "nothing"}`,
    );
  }
}

export const isEnding =
  (id: string) =>
  (message: UplinkMessage): message is Result =>
    message.kind === "result" && message.command === id && message.state !== "accepted";

const selfTestsFor = ({ heard }: Stage, id: string): SelfTest[] =>
  [...heard.messages.values()].filter(
    (message): message is SelfTest => message.kind === "self-test" && message.command === id,
  );
