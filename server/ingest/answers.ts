import { decodeUplink } from "../../firmware-protocol/src/decode.ts";
import type { Renewal, Result, SelfTest } from "../../firmware-protocol/src/messages.ts";
import { type CommandId, commandId, type UnitSerial } from "../domain/ids.ts";
import { recordAnswer, recordSelfTest } from "../programme/follow-command.ts";
import type { Services } from "../services.ts";
import type { IncomingMessage } from "../store/telemetry-port.ts";

export interface RenewalAsked {
  readonly unit: UnitSerial;
  readonly boot: number;
  readonly sequence: number;
  readonly request: Uint8Array;
  readonly command: CommandId | null;
}

/** Certifies the unit's new key, or refuses to. What it decides reaches the unit through its session. */
export type AnswerRenewal = (asked: RenewalAsked) => Promise<unknown>;

const answering = /\/up\/(result|self-test|renewal)$/;

/** Acts on what units said of commands and certificates; call it after the commit that holds the messages, and before
 *  their receipts. Resends come here again and change nothing. */
export function takeAnswers(
  services: Services,
  batch: readonly IncomingMessage[],
  answerRenewal: AnswerRenewal,
): void {
  for (const { unit, topic, payload } of batch) {
    const kind = answering.exec(topic)?.[1];
    if (kind === undefined) continue;
    const message = decodeUplink(payload);
    // What can't be read, or is not what its topic says, has been kept aside.
    if (message.kind === "unreadable" || message.kind !== kind || message.unit !== unit) continue;
    if (message.kind === "result") takeResult(services, unit, message);
    else if (message.kind === "self-test") takeSelfTest(services, unit, message);
    else if (message.kind === "renewal") takeRenewal(services, unit, message, answerRenewal);
  }
}

function takeResult(services: Services, unit: UnitSerial, { command, state, reason, detail }: Result): void {
  recordAnswer(services, unit, commandId(command), { state, reason, detail: detail ?? null });
}

function takeSelfTest(services: Services, unit: UnitSerial, test: SelfTest): void {
  if (test.command === undefined) return;
  const { passed, cellsTested, cellsFailed, failedRows, failedColumns } = test;
  const found = { passed, cellsTested, cellsFailed, failedRows, failedColumns };
  recordSelfTest(services, unit, commandId(test.command), found);
}

function takeRenewal(services: Services, unit: UnitSerial, asked: Renewal, answer: AnswerRenewal): void {
  const { boot, sequence, request } = asked;
  const command = asked.command === undefined ? null : commandId(asked.command);
  answer({ unit, boot, sequence, request, command }).catch((error: unknown) => {
    services.log.error({ err: error, unit }, "a request for a new certificate was not answered");
  });
}
