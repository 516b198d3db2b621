import { describe, expect, it } from "vitest";
import { unitSerial } from "../../server/domain/ids.ts";
import { inRunSheetOrder } from "../../server/domain/lifecycle/run-sheet.ts";
import {
  type CandidateUnit,
  matchUnits,
  nearestSuitable,
  reasonsAgainst,
} from "../../server/domain/lifecycle/suitability.ts";
import { kilograms, millimetres } from "../../server/domain/units.ts";

const seat = { seatWidth: millimetres(450), seatDepth: millimetres(430), weight: kilograms(104) };

const cushion = (serial: string, change: Partial<CandidateUnit> = {}): CandidateUnit => ({
  serial: unitSerial(serial),
  modelName: "Everyday",
  size: "45 × 43",
  place: "in-stock",
  width: millimetres(450),
  depth: millimetres(430),
  weightLimit: kilograms(130),
  barredBy: [],
  reservedElsewhere: false,
  ...change,
});

const rules = (unit: CandidateUnit) => reasonsAgainst(unit, seat).map((reason) => reason.rule);

describe("whether a unit suits a person", () => {
  it("refuses a 40 cm cushion with a 100 kg limit for a 45 cm seat and 104 kg, for each reason by name", () => {
    const small = cushion("CU-1", { width: millimetres(400), weightLimit: kilograms(100) });
    expect(rules(small)).toEqual(["seat-width", "weight-limit"]);
    expect(reasonsAgainst(small, seat)[1]?.sentence).toBe(
      "It carries up to 100 kg; the borrower weighs 104 kg.",
    );
  });

  it("takes the weight limit itself as still within the limit", () => {
    expect(rules(cushion("CU-1", { weightLimit: kilograms(104) }))).toEqual([]);
    expect(rules(cushion("CU-1", { weightLimit: kilograms(103) }))).toEqual(["weight-limit"]);
  });

  it("refuses what is recalled, promised elsewhere, or not in stock", () => {
    expect(rules(cushion("CU-1", { barredBy: ["R-0001"] }))).toEqual(["recall"]);
    expect(rules(cushion("CU-1", { place: "reserved", reservedElsewhere: true }))).toEqual([
      "reserved-elsewhere",
    ]);
    expect(rules(cushion("CU-1", { place: "cleaning" }))).toEqual(["not-in-stock"]);
  });

  it("suggests the nearest that passes every gate, and nothing where nothing does", () => {
    const near = cushion("CU-3", { width: millimetres(460) });
    const exactButRecalled = cushion("CU-2", { barredBy: ["R-0001"] });
    const further = cushion("CU-1", { width: millimetres(430), depth: millimetres(410) });
    expect(nearestSuitable([further, exactButRecalled, near], seat)?.serial).toBe("CU-3");
    expect(nearestSuitable([exactButRecalled], seat)).toBeNull();
    expect(matchUnits([exactButRecalled, further, near], seat).map((match) => match.unit.serial)).toEqual([
      "CU-3",
      "CU-1",
      "CU-2",
    ]);
  });
});

describe("the order of a day's stops", () => {
  it("puts stops that bring a clean unit before those that only take a used one away", () => {
    const stops = [
      { id: "a", kind: "collection", area: "Harbour" },
      { id: "b", kind: "swap", area: "Mill" },
      { id: "c", kind: "swap", area: "Harbour" },
    ] as const;
    expect(inRunSheetOrder(stops).map((stop) => stop.id)).toEqual(["c", "b", "a"]);
  });
});
