import { z } from "zod";
import type {
  EnrolRefusal,
  EnrolRefusalReason,
  EnrolRequest,
} from "../../firmware-protocol/src/enrolment.ts";
import { millisecondsIn } from "../domain/units.ts";
import { typedCodeWindow } from "../enrolment/claim-budget.ts";
import { claimPairingCode } from "../enrolment/claim-pairing-code.ts";
import { currentRevocationList } from "../enrolment/current-revocation-list.ts";
import type { Enrolment } from "../enrolment/enrolment.ts";
import { refuseClaim } from "../enrolment/refuse-claim.ts";
import type { Services } from "../services.ts";
import { readLimited } from "./read-limited.ts";
import { remoteAddressOf } from "./remote-address.ts";
import type { AppContext, Route } from "./route.ts";

/** The routes units use, and what a standard broker in front needs to check them. A pairing code is its own proof, so
 *  none of them asks for a session. */
export function enrolRoutes(services: Services, enrolment: Enrolment): readonly Route[] {
  return [
    {
      method: "POST",
      path: "/enrol",
      needs: "public",
      handle: (context) => enrol(context, services, enrolment),
    },
    {
      method: "GET",
      path: "/authority/root.pem",
      needs: "public",
      handle: (context) => context.body(enrolment.authority.rootPem, 200, pemHeaders),
    },
    {
      method: "GET",
      path: "/authority/revoked.crl",
      needs: "public",
      handle: async (context) =>
        context.body(await currentRevocationList(services, enrolment), 200, pemHeaders),
    },
  ];
}

const pemHeaders = { "Content-Type": "application/x-pem-file", "Cache-Control": "no-cache" };
const largestRequestOctets = 64 * 1024;

const enrolRequestSchema = z.object({
  code: z.string().min(1).max(4_096),
  unit: z.string().min(1).max(64),
  certificateRequest: z.string().min(1).max(16_384),
});

async function enrol(context: AppContext, services: Services, enrolment: Enrolment): Promise<Response> {
  context.header("Cache-Control", "no-store");
  const remoteAddress = remoteAddressOf(context);
  const read = await readRequest(context);
  if (read.kind === "unreadable") {
    const claim = { reason: "unreadable-request", code: null, claimedUnit: null, remoteAddress } as const;
    const refused = refuseClaim(services, { ...claim, detail: read.problem });
    return refusal(context, refused.reason, `${refused.message} (${read.problem})`);
  }
  const outcome = await claimPairingCode(services, enrolment, read.request, remoteAddress);
  if (outcome.kind === "refused") return refusal(context, outcome.reason, outcome.message);
  return context.json(outcome.answer);
}

const statusOf = {
  "unreadable-request": 400,
  "unreadable-code": 400,
  "signature-not-ours": 403,
  expired: 410,
  withdrawn: 410,
  "already-used": 409,
  "another-unit": 403,
  "loan-ended": 410,
  "key-not-proved": 400,
  "too-many-tries": 429,
} as const satisfies Record<EnrolRefusalReason, number>;

function refusal(context: AppContext, refused: EnrolRefusalReason, message: string): Response {
  if (refused === "too-many-tries")
    context.header("Retry-After", String(typedCodeWindow / millisecondsIn.second));
  return context.json({ refused, message } satisfies EnrolRefusal, statusOf[refused]);
}

type ReadRequest =
  | { readonly kind: "request"; readonly request: EnrolRequest }
  | { readonly kind: "unreadable"; readonly problem: string };

/** Names the fields that are wrong and repeats nothing of what was sent. */
async function readRequest(context: AppContext): Promise<ReadRequest> {
  const body = await readLimited(context.req.raw, largestRequestOctets);
  if (body === null) return { kind: "unreadable", problem: "larger than 64 kB" };
  let content: unknown;
  try {
    content = JSON.parse(body);
  } catch {
    return { kind: "unreadable", problem: "not JSON" };
  }
  const parsed = enrolRequestSchema.safeParse(content);
  if (parsed.success) return { kind: "request", request: parsed.data };
  const fields = new Set(parsed.error.issues.map((issue) => issue.path.join(".") || "body"));
  return { kind: "unreadable", problem: `wrong or missing: ${[...fields].join(", ")}` };
}
