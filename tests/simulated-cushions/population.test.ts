import { describe, expect, it } from "vitest";
import { drawPerson } from "../../scripts/simulated-cushions/population.ts";
import { hour } from "../../scripts/simulated-cushions/wall-clock.ts";
import { live } from "./cast.ts";

const days = 4;
const people = 60;

/** What each of many drawn people really did, per day and per seated hour. */
const lived = Array.from({ length: people }, (_, index) => {
  const seed = `drawn-${index}`;
  const { truth } = live({ days, seed, person: drawPerson(seed) });
  let satDownAt: number | null = null;
  let seatedHours = 0;
  let transfers = 0;
  let shifts = 0;
  for (const event of truth.events) {
    if (event.what === "sat-down") satDownAt = event.at;
    if (event.what === "weight-shift") shifts += 1;
    if (event.what === "got-up" && satDownAt !== null) {
      seatedHours += (event.at - satDownAt) / hour;
      transfers += 1;
      satDownAt = null;
    }
  }
  return { hours: seatedHours / days, transfers: transfers / days, shiftsPerHour: shifts / seatedHours };
});

const mean = (values: readonly number[]): number => values.reduce((a, b) => a + b, 0) / values.length;
const deviation = (values: readonly number[]): number =>
  Math.sqrt(mean(values.map((value) => (value - mean(values)) ** 2)));

/** Published: 10.6 ± 3.0 h in the chair, 8.4 ± 4.3 transfers a day, 2.4 ± 2.2 weight shifts a seated hour.
 *  Source: Sonenblum, Sprigle, Martin 2016, J Rehabil Res Dev 53:585. Averages over several days spread less than
 *  single days, so only the means are held close and the spreads are held to the right size. */
describe("a drawn population lives days like those published", () => {
  it("in hours seated", () => {
    const hours = lived.map((person) => person.hours);
    expect(Math.abs(mean(hours) - 10.6)).toBeLessThan(1.2);
    expect(deviation(hours)).toBeGreaterThan(1.2);
    expect(deviation(hours)).toBeLessThan(3.6);
  });

  it("in transfers", () => {
    const transfers = lived.map((person) => person.transfers);
    expect(Math.abs(mean(transfers) - 8.4)).toBeLessThan(1.3);
    expect(deviation(transfers)).toBeGreaterThan(2);
    expect(deviation(transfers)).toBeLessThan(5);
  });

  it("in weight shifts", () => {
    expect(Math.abs(mean(lived.map((person) => person.shiftsPerHour)) - 2.4)).toBeLessThan(0.8);
  });
});
