import { parseArgs } from "node:util";

export interface DemoOptions {
  readonly days: number;
  readonly loans: number | null;
  readonly folder: string;
  readonly port: number;
  readonly mqttPort: number;
  readonly seed: string;
  readonly zone: string;
  readonly exitWhenReady: boolean;
}

export const help = `npm run demo -- [options]

An invented programme on your own machine: cushions are enrolled by their pairing codes, four weeks of their
messages go through the real broker, and then everything runs live.

  --days <n>          days of past to play, 1 to 60 (28)
  --loans <n>         only the first n of the loans (all)
  --folder <path>     where its data go; cleared at each start (./demo-data)
  --port <n>          console; 0 takes any free one (8080)
  --mqtt-port <n>     broker; 0 takes any free one (8883)
  --seed <text>       another seed, another set of days (cushionry)
  --zone <name>       the programme's time zone (this computer's)
  --quick             the same as --days 3 --loans 6
  --exit-when-ready   stop as soon as it is ready
  --help
`;

export type OptionsRead =
  | { readonly kind: "options"; readonly options: DemoOptions }
  | { readonly kind: "help" }
  | { readonly kind: "wrong"; readonly sentence: string };

export function readOptions(args: readonly string[]): OptionsRead {
  let values: ReturnType<typeof parse>;
  try {
    values = parse(args);
  } catch (problem) {
    return { kind: "wrong", sentence: problem instanceof Error ? problem.message : String(problem) };
  }
  if (values.help) return { kind: "help" };
  const days = Number(values.days ?? (values.quick ? 3 : 28));
  if (!Number.isInteger(days) || days < 1 || days > 60) {
    return { kind: "wrong", sentence: "--days must be a whole number from 1 to 60." };
  }
  const loans = values.loans ?? (values.quick ? "6" : null);
  if (loans !== null && !/^[1-9]\d?$/.test(loans))
    return { kind: "wrong", sentence: "--loans must be 1 or more." };
  const port = portFrom(values.port);
  const mqttPort = portFrom(values["mqtt-port"]);
  if (port === null) return { kind: "wrong", sentence: "--port must be a port number." };
  if (mqttPort === null) return { kind: "wrong", sentence: "--mqtt-port must be a port number." };
  return {
    kind: "options",
    options: {
      days,
      loans: loans === null ? null : Number(loans),
      folder: values.folder,
      port,
      mqttPort,
      seed: values.seed,
      zone: values.zone ?? Intl.DateTimeFormat().resolvedOptions().timeZone,
      exitWhenReady: values["exit-when-ready"] ?? false,
    },
  };
}

const parse = (args: readonly string[]) =>
  parseArgs({
    args: [...args],
    options: {
      days: { type: "string" },
      loans: { type: "string" },
      folder: { type: "string", default: "./demo-data" },
      port: { type: "string", default: "8080" },
      "mqtt-port": { type: "string", default: "8883" },
      seed: { type: "string", default: "cushionry" },
      zone: { type: "string" },
      quick: { type: "boolean" },
      "exit-when-ready": { type: "boolean" },
      help: { type: "boolean", short: "h" },
    },
  }).values;

function portFrom(text: string): number | null {
  const port = Number(text);
  return Number.isInteger(port) && port >= 0 && port <= 65_535 ? port : null;
}
