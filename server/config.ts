import { z } from "zod";
import { type ZoneName, zoneName } from "./domain/time/local-day.ts";

/** What the operator decides, by environment. */
export interface Config {
  readonly port: number;
  readonly mqttPort: number;
  readonly dataFolder: string;
  /** Where people and cushions reach the service; its host is also the broker's, in certificates and answers.
   *  null: this machine, on the port that is listened on. */
  readonly baseUrl: string | null;
  readonly zone: ZoneName;
  /** A standard broker that talks to the units in our place; null: our own does. */
  readonly frontBroker: { readonly host: string; readonly port: number } | null;
  /** What a scraper carries to read `/metrics`; left out or null: there is no such page. */
  readonly metricsToken?: string | null;
}

export type ConfigRead =
  | { readonly ok: true; readonly config: Config }
  /** One message that names every setting at fault. */
  | { readonly ok: false; readonly message: string };

const port = (fallback: number) =>
  z
    .string()
    .regex(/^\d{1,5}$/, "must be a port number from 0 to 65535")
    .transform(Number)
    .refine((value) => value <= 65_535, "must be a port number from 0 to 65535")
    .default(fallback);

/** Registered with IANA as secure-mqtt. */
const defaultMqttPort = 8_883;

const environment = z.object({
  PORT: port(8_080),
  MQTT_PORT: port(defaultMqttPort),
  DATA_DIR: z.string().default("./data"),
  BASE_URL: z
    .string()
    .refine(isWebAddress, "must be an http or https address without a path, such as https://cushions.example")
    .transform((text) => new URL(text).origin)
    .optional(),
  FRONT_BROKER: z
    .string()
    .refine(isBrokerAddress, "must be the address of a broker, such as mqtts://broker.example:8883")
    .transform((text) => {
      const { hostname, port: named } = new URL(text);
      return { host: hostname.replace(/^\[|\]$/g, ""), port: named === "" ? defaultMqttPort : Number(named) };
    })
    .optional(),
  METRICS_TOKEN: z
    .string()
    .regex(/^\S{20,}$/, "must be at least 20 characters without a space")
    .optional(),
  // No zone fits every programme, and a wrong one would put minutes on the wrong day: better plainly UTC.
  PROGRAMME_ZONE: z.string().default("UTC").transform(zoneOrProblem),
});

/** Reads each setting once; the rest of the service never looks at the environment.
 *  A setting left empty counts as not set. */
export function readConfig(from: Readonly<Record<string, string | undefined>>): ConfigRead {
  const set = Object.fromEntries(Object.entries(from).filter(([, value]) => value?.trim()));
  const read = environment.safeParse(set);
  if (!read.success) {
    const faults = read.error.issues.map((issue) => `${issue.path.join(".")} ${issue.message}`);
    return { ok: false, message: `Not started. ${[...new Set(faults)].join("; ")}.` };
  }
  const { PORT, MQTT_PORT, DATA_DIR, BASE_URL, PROGRAMME_ZONE, FRONT_BROKER, METRICS_TOKEN } = read.data;
  if (PORT !== 0 && PORT === MQTT_PORT) {
    return { ok: false, message: "Not started. PORT and MQTT_PORT must differ." };
  }
  return {
    ok: true,
    config: {
      port: PORT,
      mqttPort: MQTT_PORT,
      dataFolder: DATA_DIR,
      baseUrl: BASE_URL ?? null,
      zone: PROGRAMME_ZONE,
      frontBroker: FRONT_BROKER ?? null,
      ...(METRICS_TOKEN === undefined ? {} : { metricsToken: METRICS_TOKEN }),
    },
  };
}

function isWebAddress(text: string): boolean {
  if (!URL.canParse(text)) return false;
  const { protocol, pathname, search, hash, username } = new URL(text);
  return /^https?:$/.test(protocol) && pathname === "/" && search + hash + username === "";
}

function isBrokerAddress(text: string): boolean {
  if (!URL.canParse(text)) return false;
  const { protocol, hostname, pathname, search, hash, username } = new URL(text);
  return protocol === "mqtts:" && hostname !== "" && pathname + search + hash + username === "";
}

function zoneOrProblem(text: string, context: z.RefinementCtx): ZoneName {
  const zone = zoneName(text);
  if (zone !== null) return zone;
  context.addIssue({ code: "custom", message: "must be an IANA zone name such as Europe/London" });
  return z.NEVER;
}
