/** `npm run conformance -- <host>`: plays a unit against a server, or with --as-server a server for a unit, and prints
 *  clause by clause what holds. */
import { existsSync, readFileSync } from "node:fs";
import { parseArgs } from "node:util";
import { playServer } from "./as-server/play-server.ts";
import { type PlayUnitOptions, playUnit } from "./as-unit/play-unit.ts";
import type { Ruling } from "./findings.ts";
import { exitCodeOf, rulingLines } from "./print-rulings.ts";

const help = `npm run conformance -- <host[:port]> --unit <serial> ...     plays a unit against this broker
npm run conformance -- --as-server --unit <serial> ...        plays the server for a unit that comes

Prints what of firmware-protocol/SPEC.md holds, clause by clause. Ends with 1 where a "must" is broken.
What it sends is recorded, and what it asks is done: use a unit that is with nobody.

as a unit, with a certificate that it has:
  --certificate <file> --key <file> --authority <file>          PEM
or with a pairing code, which is spent:
  --pairing-code <file or text>  --enrol <url>                  where the console is (https://<host>)
  --boot <n>             above every boot this serial has had (the seconds since 1970)
  --command-seconds <n>  wait so long for a command to be given to the unit (0: one that waits already is taken)
  --renew                also ask for a new certificate, which ends the one given

as a server:
  --listen <host>        the name or address by which the unit reaches this machine (localhost)
  --mqtt-port <n> --enrol-port <n>   (8883, 8080)
  --patience <seconds>   wait so long for each thing the unit should do (120)
  --forget               also tell the unit to forget everything
`;

const { values, positionals } = parseArgs({
  allowPositionals: true,
  options: {
    "as-server": { type: "boolean", default: false },
    unit: { type: "string" },
    certificate: { type: "string" },
    key: { type: "string" },
    authority: { type: "string" },
    "pairing-code": { type: "string" },
    enrol: { type: "string" },
    boot: { type: "string" },
    "command-seconds": { type: "string", default: "0" },
    renew: { type: "boolean", default: false },
    listen: { type: "string", default: "localhost" },
    "mqtt-port": { type: "string", default: "8883" },
    "enrol-port": { type: "string", default: "8080" },
    patience: { type: "string", default: "120" },
    forget: { type: "boolean", default: false },
    help: { type: "boolean", short: "h", default: false },
  },
});

const say = (line: string): void => console.error(line);

/** @throws where it is missing or no whole number */
function wholeNumber(name: string, text: string): number {
  const number = Number(text);
  if (!Number.isInteger(number) || number < 0) throw new Error(`--${name} takes a whole number.`);
  return number;
}

function against(unit: string, target: string): PlayUnitOptions["who"] {
  const { host, port } = addressOf(target);
  const { certificate, key, authority, enrol } = values;
  const code = values["pairing-code"];
  if (code !== undefined) {
    const text = existsSync(code) ? readFileSync(code, "utf8").trim() : code;
    return { server: enrol ?? `https://${host}`, unit, code: text };
  }
  if (certificate === undefined || key === undefined)
    throw new Error("Give --certificate and --key, or --pairing-code.");
  return {
    unit,
    key: readFileSync(key, "utf8"),
    certificateChain: readFileSync(certificate, "utf8"),
    authority: authority === undefined ? null : readFileSync(authority, "utf8"),
    host,
    port,
  };
}

function addressOf(target: string): { host: string; port: number } {
  const { hostname, port } = new URL(`mqtts://${target}`);
  return { host: hostname.replace(/^\[|\]$/g, ""), port: port === "" ? 8_883 : Number(port) };
}

function play(unit: string, target: string | undefined): Promise<readonly Ruling[]> {
  if (values["as-server"])
    return playServer({
      unit,
      host: values.listen,
      mqttPort: wholeNumber("mqtt-port", values["mqtt-port"]),
      enrolPort: wholeNumber("enrol-port", values["enrol-port"]),
      now: () => Date.now(),
      patienceSeconds: wholeNumber("patience", values.patience),
      forget: values.forget,
      say,
      ready: ({ url, code }) => say(`Enrol ${unit} at ${url} with the pairing code ${code}`),
    });
  if (target === undefined) throw new Error("Which server? Give <host[:port]>, or --as-server.");
  return playUnit({
    who: against(unit, target),
    boot: values.boot === undefined ? Math.floor(Date.now() / 1_000) : wholeNumber("boot", values.boot),
    commandSeconds: wholeNumber("command-seconds", values["command-seconds"]),
    renew: values.renew,
    say,
  });
}

async function main(): Promise<number> {
  // `unit-against <host>` says the same in words.
  const [target] = positionals.filter((each) => each !== "unit-against");
  if (values.help || values.unit === undefined) {
    console.log(help);
    return values.help ? 0 : 2;
  }
  const rulings = await play(values.unit, target);
  console.log(rulingLines(rulings).join("\n"));
  return exitCodeOf(rulings);
}

main().then(
  (code) => process.exit(code),
  (problem: unknown) => {
    console.error(problem instanceof Error ? problem.message : String(problem));
    process.exit(2);
  },
);
