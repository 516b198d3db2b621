import { z } from "zod";
import { encodeUplink } from "../../firmware-protocol/src/encode.ts";
import { uplinkTopic } from "../../firmware-protocol/src/topics.ts";
import { unitSerial } from "../../server/domain/ids.ts";
import type { IncomingMessage } from "../../server/store/telemetry-port.ts";
import { messageForm } from "./message-form.ts";
import { momentField } from "./moment.ts";
import { type Problem, problemsOf, sentenceOf } from "./problem.ts";

export const messagesFile = "messages.jsonl";

const lineForm = z.strictObject({ receivedAt: momentField, message: messageForm });

/** Messages of a case in order of arrival, in their wire form. A line that can't be used is a problem and harms no
 *  other; an empty one is passed over.
 *  @param known serials of the manifest's units */
export function readMessages(
  text: string,
  known: ReadonlySet<string>,
): { readonly messages: readonly IncomingMessage[]; readonly problems: readonly Problem[] } {
  const messages: IncomingMessage[] = [];
  const problems: Problem[] = [];
  for (const [index, line] of text.split("\n").entries()) {
    if (line.trim() === "") continue;
    const read = readLine(line, index + 1, known);
    if ("unit" in read) messages.push(read);
    else problems.push(...read);
  }
  // Sorting is stable: what arrived at the same moment stays in the order of its lines.
  return { messages: messages.sort((a, b) => a.receivedAt - b.receivedAt), problems };
}

function readLine(text: string, line: number, known: ReadonlySet<string>): IncomingMessage | Problem[] {
  const here = (field: string, problem: string): Problem[] => [{ file: messagesFile, line, field, problem }];
  let json: unknown;
  try {
    json = JSON.parse(text);
  } catch (thrown) {
    return here("", `not JSON: ${sentenceOf(thrown)}`);
  }
  const read = lineForm.safeParse(json);
  if (!read.success) return problemsOf(read.error, { file: messagesFile, line, base: "" });
  const { receivedAt, message } = read.data;
  if (!known.has(message.unit)) return here("message.unit", `${message.unit} is no unit of the manifest`);
  try {
    const unit = unitSerial(message.unit);
    return { unit, topic: uplinkTopic(unit, message.kind), receivedAt, payload: encodeUplink(message) };
  } catch (thrown) {
    // The encoder's sentence names the field and the clause of SPEC.md that refuses it.
    return here("message", sentenceOf(thrown));
  }
}
