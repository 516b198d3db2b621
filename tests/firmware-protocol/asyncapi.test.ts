import { readFileSync } from "node:fs";
import { Parser } from "@asyncapi/parser";
import { Ajv } from "ajv";
import { describe, expect, it } from "vitest";
import { z } from "zod";
import { messageCodes } from "../../firmware-protocol/src/envelope.ts";
import {
  downlinkKinds,
  downlinkTopic,
  uplinkKinds,
  uplinkTopic,
} from "../../firmware-protocol/src/topics.ts";
import { accepted } from "./vectors.ts";

const text = readFileSync(new URL("../../firmware-protocol/asyncapi.yaml", import.meta.url), "utf8");
const parser = new Parser();
const errorsIn = (diagnostics: readonly { severity: number; message: string }[]): string[] =>
  diagnostics.filter(({ severity }) => severity === 0).map(({ message }) => message);

const { document, diagnostics } = await parser.parse(text);
if (document === undefined) throw new Error(errorsIn(diagnostics).join("\n"));

const { components } = z
  .object({ components: z.object({ schemas: z.record(z.string(), z.record(z.string(), z.json())) }) })
  .parse(document.json());
const ajv = new Ajv({ strict: false });
const describes = (kind: string, message: unknown): boolean =>
  ajv.validate(components.schemas[kind] ?? false, message);

describe("asyncapi.yaml", () => {
  it("is AsyncAPI 3.0 without an error to the parser made for it", () => {
    expect(document.version()).toBe("3.0.0");
    expect(errorsIn(diagnostics)).toEqual([]);
  });

  it("would be told from a document with an error", async () => {
    const broken = await parser.parse(text.replace("action: receive", "action: fetch"));
    expect(errorsIn(broken.diagnostics)).not.toEqual([]);
  });

  it("gives every message a channel with its topic and an operation, and no other", () => {
    const shape = z.object({
      channels: z.record(z.string(), z.object({ address: z.string() })),
      operations: z.record(
        z.string(),
        z.object({
          action: z.enum(["send", "receive"]),
          channel: z.object({ address: z.string() }),
          bindings: z.object({ mqtt: z.object({ qos: z.literal(1), retain: z.boolean() }) }),
        }),
      ),
    });
    const { channels, operations } = shape.parse(document.json());
    expect(Object.keys(channels)).toEqual(Object.keys(messageCodes));
    const told = Object.values(operations).map(({ action, channel, bindings }) => ({
      action,
      address: channel.address.replace("{serial}", "CU-1"),
      retain: bindings.mqtt.retain,
    }));
    const expected = [
      ...uplinkKinds.map((kind) => ({
        action: "receive",
        address: uplinkTopic("CU-1", kind),
        retain: false,
      })),
      ...downlinkKinds.map((kind) => ({
        action: "send",
        address: downlinkTopic("CU-1", kind),
        retain: kind === "plan",
      })),
    ];
    expect(told).toEqual(expected);
  });

  it.each(accepted)(
    "has a schema that describes what $name means, and under no other message's name",
    (vector) => {
      const { message } = vector;
      expect(Object.keys(messageCodes).filter((kind) => describes(kind, message))).toEqual([message.kind]);
      expect(describes(String(message.kind), { ...message, person: "A" })).toBe(false);
    },
  );

  it("has schemas that let nothing be left out but what SPEC.md calls optional", () => {
    const left = new Set<string>();
    for (const { message } of accepted)
      for (const name of Object.keys(message)) {
        const { [name]: _out, ...rest } = message;
        if (describes(String(message.kind), rest)) left.add(`${message.kind}.${name}`);
      }
    expect([...left].sort()).toEqual([
      "command.planVersion",
      "hello.certificateNotAfter",
      "hello.oldestUnsent",
      "hello.relay",
      "hello.storeCapacityMessages",
      "power.ended",
      "power.step",
      "relief.brokenOff",
      "relief.sideLoadPercent",
      "renewal.command",
      "result.detail",
      "self-test.command",
    ]);
  });
});
