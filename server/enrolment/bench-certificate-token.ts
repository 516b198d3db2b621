import { z } from "zod";
import type { CertificateContent } from "../domain/bench/certificate.ts";
import { outcomes } from "../domain/bench/session.ts";
import { stepIds } from "../domain/bench/steps.ts";
import type { Enrolment } from "./enrolment.ts";
import { signText, verifyText } from "./signed-text.ts";

/** Keeps the two uses of the programme's signing key apart: a certificate is no pairing code, and the other way. */
const tokenType = "bench-certificate+jws";

export function signBenchCertificate(
  { issuer, pairingKey }: Enrolment,
  content: CertificateContent,
): Promise<string> {
  const text = JSON.stringify({ iss: issuer, ...content });
  return signText(
    new TextEncoder().encode(text),
    { kid: pairingKey.id, typ: tokenType },
    pairingKey.privateKey,
  );
}

const line = z.object({
  step: z.enum(stepIds),
  name: z.string(),
  unit: z.string(),
  value: z.number(),
  expanded: z.number(),
  k: z.number(),
  low: z.number().nullable(),
  high: z.number().nullable(),
  decision: z.string(),
});

const contentSchema = z.object({
  iss: z.string(),
  jti: z.string(),
  sub: z.string(),
  iat: z.int(),
  session: z.string(),
  model: z.string(),
  lot: z.string(),
  outcome: z.enum(outcomes),
  began: z.int(),
  grid: z.tuple([z.int(), z.int()]),
  masked: z.array(z.int()),
  temperature: z.number().nullable(),
  equipment: z.array(z.string()),
  forgot: z.int().nullable().default(null),
  results: z.array(line),
  decisionRule: z.string(),
});

export type ReadCertificate =
  | { readonly kind: "ours"; readonly content: CertificateContent; readonly signedBy: string }
  | { readonly kind: "not-ours" };

/** What a certificate says, if this programme signed every letter of it. */
export async function readBenchCertificate(
  { issuer, pairingKey }: Enrolment,
  jws: string,
): Promise<ReadCertificate> {
  const verified = await verifyText(jws, pairingKey.publicKey);
  if (verified.kind !== "signed" || verified.header.typ !== tokenType) return { kind: "not-ours" };
  const parsed = contentSchema.safeParse(JSON.parse(new TextDecoder().decode(verified.content)));
  if (!parsed.success || parsed.data.iss !== issuer) return { kind: "not-ours" };
  const { iss: _, ...content } = parsed.data;
  return { kind: "ours", content, signedBy: pairingKey.id };
}
