import { Writable } from "node:stream";
import pino from "pino";
import { describe, expect, it } from "vitest";
import { readConfig } from "../../server/config.ts";
import { logOptions } from "../../server/log.ts";

describe("settings from the environment", () => {
  it("are complete without any", () => {
    expect(readConfig({})).toEqual({
      ok: true,
      config: {
        port: 8080,
        mqttPort: 8883,
        dataFolder: "./data",
        baseUrl: null,
        zone: "UTC",
        frontBroker: null,
      },
    });
  });

  it("are taken as given, and an empty one counts as not set", () => {
    const read = readConfig({
      PORT: "9000",
      MQTT_PORT: "",
      DATA_DIR: "/srv/cushions",
      BASE_URL: "https://cushions.example/",
      PROGRAMME_ZONE: "Europe/London",
      FRONT_BROKER: "mqtts://broker.example",
    });
    expect(read).toEqual({
      ok: true,
      config: {
        port: 9000,
        mqttPort: 8883,
        dataFolder: "/srv/cushions",
        baseUrl: "https://cushions.example",
        zone: "Europe/London",
        frontBroker: { host: "broker.example", port: 8883 },
      },
    });
  });

  it.each([
    [{ PORT: "http" }, "PORT"],
    [{ PORT: "70000" }, "PORT"],
    [{ MQTT_PORT: "-1" }, "MQTT_PORT"],
    [{ BASE_URL: "cushions.example" }, "BASE_URL"],
    [{ BASE_URL: "ftp://cushions.example" }, "BASE_URL"],
    [{ BASE_URL: "https://cushions.example/console" }, "BASE_URL"],
    [{ FRONT_BROKER: "mqtt://broker.example" }, "FRONT_BROKER"],
    [{ PROGRAMME_ZONE: "Mars/Base" }, "PROGRAMME_ZONE"],
    [{ PORT: "9000", MQTT_PORT: "9000" }, "PORT and MQTT_PORT must differ"],
  ])("refuse %j and name the one at fault", (environment, named) => {
    const read = readConfig(environment);
    expect(read.ok).toBe(false);
    expect(!read.ok && read.message).toContain(named);
  });

  it("name every one at fault in one message", () => {
    const read = readConfig({ PORT: "x", BASE_URL: "y", PROGRAMME_ZONE: "z" });
    expect(!read.ok && read.message).toMatch(/PORT .*BASE_URL .*PROGRAMME_ZONE /);
  });
});

describe("the log", () => {
  it("keeps out secrets, personal data and the values in an error", () => {
    const lines: string[] = [];
    const sink = new Writable({
      write: (chunk, _encoding, done) => {
        lines.push(String(chunk));
        done();
      },
    });
    const log = pino(logOptions, sink);
    log.info({ borrower: { name: "Ada Secret", address: "Secret Lane" }, token: "Secret" }, "kept");
    const error = Object.assign(new Error("UNIQUE failed for Secret Person"), { code: "SQLITE_CONSTRAINT" });
    log.error({ err: error }, "failed");
    const text = lines.join("");
    expect(text).not.toContain("Secret");
    expect(JSON.parse(lines[0] ?? "")).toMatchObject({ level: "info", msg: "kept", token: "[kept out]" });
    const { err } = JSON.parse(lines[1] ?? "");
    expect(err).toMatchObject({ kind: "Error", errorCode: "SQLITE_CONSTRAINT" });
    expect(err.places[0]).toContain("config.test.ts");
  });
});
