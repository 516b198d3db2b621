import { readFileSync } from "node:fs";
import { join } from "node:path";
import { type Instant, instant } from "../../server/domain/units.ts";
import { openCaseServices } from "./case-services.ts";
import { manifestFile, readManifest } from "./manifest.ts";
import { momentText } from "./moment.ts";
import { type Problem, sentenceOf } from "./problem.ts";
import { messagesFile, readMessages } from "./read-messages.ts";
import { withKnownReferences } from "./references.ts";
import { layOut, registryEvents } from "./registry-events.ts";
import { replay } from "./replay.ts";
import { tell } from "./tell.ts";

export type Explained =
  | { readonly kind: "told"; readonly told: CaseTold }
  /** Nothing could be told at all. */
  | { readonly kind: "unreadable"; readonly problems: readonly Problem[] };

export interface CaseTold extends Awaited<ReturnType<typeof tell>> {
  readonly zone: string;
  /** Everything below is what was known by then. */
  readonly knownOn: string;
  readonly problems: readonly Problem[];
}

/** A case without an end of its own ends a little after its last message, before its silence would be a gap. */
const afterTheLast = 10 * 60_000;

/** Reads a folder and tells what the service would have made of it by `asKnownOn`, or by the case's end. */
export async function explainCase(folder: string, asKnownOn: Instant | null): Promise<Explained> {
  const manifestText = readText(folder, manifestFile);
  if (typeof manifestText !== "string") return { kind: "unreadable", problems: [manifestText] };
  const read = readManifest(manifestText);
  if (read.manifest === null) return { kind: "unreadable", problems: read.problems };
  const messagesText = readText(folder, messagesFile);
  const { manifest, problems } = withKnownReferences(read.manifest);
  const known = new Set(manifest.units.map(({ serial }) => serial));
  const taken =
    typeof messagesText === "string"
      ? readMessages(messagesText, known)
      : { messages: [], problems: [messagesText] };
  const { messages } = taken;
  const events = registryEvents(manifest);
  const last = Math.max(messages.at(-1)?.receivedAt ?? 0, events.at(-1)?.at ?? 0);
  const end = manifest.until ?? instant(last + afterTheLast);
  const until = asKnownOn ?? end;
  const services = openCaseServices(manifest.zone);
  try {
    services.setTime(until);
    layOut(services.db, manifest);
    await replay(services, { manifest, messages, events, until });
    const told = {
      zone: manifest.zone,
      knownOn: momentText(until),
      problems: [...read.problems, ...problems, ...taken.problems],
      ...(await tell(services, manifest)),
    };
    return { kind: "told", told };
  } finally {
    services.close();
  }
}

function readText(folder: string, file: string): string | Problem {
  try {
    return readFileSync(join(folder, file), "utf8");
  } catch (thrown) {
    return { file, line: null, field: "", problem: `can't be read: ${sentenceOf(thrown)}` };
  }
}
