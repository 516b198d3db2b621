import { type ChoiceField, count } from "./field.ts";
import type { FieldReader } from "./field-reader.ts";
import type { FieldWriter } from "./field-writer.ts";
import { type Envelope, type Notice, type NoticeKind, notices } from "./messages.ts";

const notice: ChoiceField<NoticeKind> = { key: 16, name: "notice", clause: "FP-5.52", values: notices };
const due = count(17, "dueUnixSeconds", "FP-5.53");

export const readNotice = (envelope: Envelope, fields: FieldReader): Notice => ({
  kind: "notice",
  ...envelope,
  notice: fields.choice(notice, "certificate-expires"),
  dueUnixSeconds: fields.integer(due),
});

export function writeNotice(out: FieldWriter, message: Notice): void {
  out.choice(notice, message.notice);
  out.integer(due, message.dueUnixSeconds);
}
