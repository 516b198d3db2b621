import { type Logger, type LoggerOptions, pino } from "pino";

/** Whatever carries one of these names is cut out, however deep a mistake puts it. */
const secrets = [
  "password",
  "passwordHash",
  "token",
  "csrf",
  "csrfToken",
  "cookie",
  "authorization",
  "code",
  "typed",
  "jws",
];
const personal = ["name", "address", "phone", "login", "remoteAddress"];

export const logOptions: LoggerOptions = {
  level: "info",
  base: null,
  timestamp: () => `,"at":"${new Date().toISOString()}"`,
  formatters: { level: (label) => ({ level: label }) },
  redact: {
    paths: [...secrets, ...personal].flatMap((name) => [name, `*.${name}`, `*.*.${name}`]),
    censor: "[kept out]",
  },
  serializers: { err: errorWithoutValues },
};

/** One JSON object a line on standard output: what happened, never to whom. */
export const createLog = (level = "info"): Logger => pino({ ...logOptions, level });

/** A database error repeats the values it choked on: only its kind, code and the place in our own code are kept. */
function errorWithoutValues(error: unknown) {
  if (!(error instanceof Error)) return { kind: typeof error };
  const { name, stack } = error;
  const errorCode = "code" in error ? error.code : undefined;
  const places = (stack ?? "").split("\n").filter((line) => /^\s+at /.test(line));
  return { kind: name, errorCode, places: places.slice(0, 12).map((line) => line.trim()) };
}
