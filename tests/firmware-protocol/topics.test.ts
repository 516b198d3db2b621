import { describe, expect, it } from "vitest";
import {
  downlinkFilter,
  downlinkTopic,
  isSerial,
  readUplinkTopic,
  topicRoot,
  uplinkKinds,
  uplinkTopic,
} from "../../firmware-protocol/src/topics.ts";

describe("topics of a unit", () => {
  it("name the unit and the kind both ways", () => {
    for (const kind of uplinkKinds)
      expect(readUplinkTopic(uplinkTopic("CU-4K7M2", kind))).toEqual({ unit: "CU-4K7M2", kind });
  });

  it("lie under its own root, so that one pattern holds a unit to its own", () => {
    expect(topicRoot("CU-4K7M2")).toBe("cushion/1/CU-4K7M2");
    expect(uplinkTopic("CU-4K7M2", "frame")).toBe("cushion/1/CU-4K7M2/up/frame");
    expect(downlinkTopic("CU-4K7M2", "receipt")).toBe("cushion/1/CU-4K7M2/down/receipt");
    expect(downlinkFilter("CU-4K7M2")).toBe("cushion/1/CU-4K7M2/down/+");
  });

  it.each([
    "",
    "cushion/1/CU-4K7M2/up",
    "cushion/1/CU-4K7M2/up/plan",
    "cushion/1/CU-4K7M2/down/hello",
    "cushion/2/CU-4K7M2/up/hello",
    "cushion/1/cu-4k7m2/up/hello",
    "cushion/1/+/up/hello",
    "cushion/1/CU-4K7M2/up/hello/more",
    "/cushion/1/CU-4K7M2/up/hello",
    "$SYS/cushion/1/CU-4K7M2/up/hello",
  ])("are not what %j is", (topic) => {
    expect(readUplinkTopic(topic)).toBeNull();
  });

  it.each(["AB", "-AB", "A".repeat(33), "A B", "A/B", "A+B", "ÄBC", "ABC\n"])(
    "have no serial like %j",
    (text) => {
      expect(isSerial(text)).toBe(false);
    },
  );
});
