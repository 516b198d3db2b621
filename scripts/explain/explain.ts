import { parseArgs } from "node:util";
import { explainCase } from "./explain-case.ts";
import { momentField } from "./moment.ts";
import type { Problem } from "./problem.ts";
import { sentenceOf } from "./problem.ts";

const help = `npm run explain -- DIR [--as-known-on TIME]

Reads DIR/manifest.json and DIR/messages.jsonl (scripts/explain/FORMAT.md), and prints as JSON what the service makes of
them: the ledger, gaps and thin stretches with their verdicts, and reliefs with their bounds.

  --as-known-on TIME   with what had arrived by then only, e.g. 2026-11-12T09:00:00Z
  --help

Ends with 0; with 1 where something of the case was left out (see "problems"); with 2 where nothing could be told.`;

async function main(): Promise<number> {
  const asked = readArguments();
  if (typeof asked === "string") {
    process.stderr.write(`${asked}\n`);
    return 2;
  }
  if (asked === null) {
    process.stdout.write(`${help}\n`);
    return 0;
  }
  const explained = await explainCase(asked.folder, asked.knownOn);
  const problems = explained.kind === "told" ? explained.told.problems : explained.problems;
  for (const problem of problems) process.stderr.write(`${problemLine(problem)}\n`);
  if (explained.kind === "unreadable") return 2;
  process.stdout.write(`${JSON.stringify(explained.told, null, 2)}\n`);
  return problems.length === 0 ? 0 : 1;
}

function readArguments() {
  try {
    const { values, positionals } = parseArgs({
      allowPositionals: true,
      options: { "as-known-on": { type: "string" }, help: { type: "boolean" } },
    });
    if (values.help) return null;
    const [folder, ...more] = positionals;
    if (folder === undefined || more.length > 0) return "Name one folder. --help tells more.";
    const text = values["as-known-on"];
    if (text === undefined) return { folder, knownOn: null };
    const knownOn = momentField.safeParse(text);
    return knownOn.success
      ? { folder, knownOn: knownOn.data }
      : `--as-known-on ${text}: not a time with its offset.`;
  } catch (thrown) {
    return sentenceOf(thrown);
  }
}

const problemLine = ({ file, line, field, problem }: Problem): string =>
  `${file}${line === null ? "" : `:${line}`}${field === "" ? "" : ` ${field}`}: ${problem}`;

process.exitCode = await main();
