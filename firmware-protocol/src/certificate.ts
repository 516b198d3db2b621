import { derProblem } from "./der.ts";
import type { Certificate } from "./downlink.ts";
import type { Field } from "./field.ts";
import type { FieldReader } from "./field-reader.ts";
import { type FieldWriter, refuseToWrite } from "./field-writer.ts";
import { maximumChainLength } from "./limits.ts";
import { messageNameField, messageNameItem, readMessageName } from "./message-name.ts";

const renewal = messageNameField(16, "renewal", "FP-7.14");
const chain: Field = { key: 17, name: "chain", clause: "FP-7.15" };

export function readCertificate(fields: FieldReader): Certificate {
  const certificate: Certificate = {
    kind: "certificate",
    renewal: readMessageName(fields, renewal),
    chain: fields.list(chain).map((item) => fields.bytesItem(chain, item)),
  };
  const wrong = chainProblem(certificate.chain);
  if (wrong !== null) fields.refuse(chain.clause, chain.name, wrong);
  return certificate;
}

export function writeCertificate(out: FieldWriter, certificate: Certificate): void {
  const wrong = chainProblem(certificate.chain);
  if (wrong !== null) refuseToWrite(chain, wrong);
  out.item(renewal.whole, messageNameItem(renewal, certificate.renewal));
  out.item(chain, certificate.chain);
}

function chainProblem(links: readonly Uint8Array[]): string | null {
  if (links.length < 1 || links.length > maximumChainLength)
    return `${links.length} certificates, where 1 to ${maximumChainLength} may stand`;
  return links.map(derProblem).find((wrong) => wrong !== null) ?? null;
}
