import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { type CheckSystem, checksOut, checkValue } from "../../server/domain/enrolment/check-character.ts";
import { inGroups, readTypedCode, typedCodeFrom } from "../../server/domain/enrolment/typed-code.ts";

const alphanumeric = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ*";
const valuesOf = (text: string) => [...text].map((character) => alphanumeric.indexOf(character));
const letters = "23456789CDFHJKMNPRTVWXY";
const anyCode = fc.bigInt({ min: 0n, max: 2n ** 256n - 1n }).map(typedCodeFrom);

describe("the check character's formula", () => {
  test.each<{ source: string; text: string; system: CheckSystem; check: string }>([
    {
      source:
        "Guidelines for the Blood Transfusion Services in the UK, Annex 2: worked example of ISO 7064 MOD 37-2",
      text: "G123498654321",
      system: { modulus: 37, radix: 2 },
      check: "H",
    },
    {
      source: "documentation of the Rust crate iso-7064 0.2.2: MOD 11-2 of 079 is X, value 10",
      text: "079",
      system: { modulus: 11, radix: 2 },
      check: "A",
    },
    {
      source: "ORCID's structure of identifiers, its example 0000-0002-1825-0097 (MOD 11-2)",
      text: "000000021825009",
      system: { modulus: 11, radix: 2 },
      check: "7",
    },
  ])("gives $check for $text, as $source says", ({ text, system, check }) => {
    expect(checkValue(valuesOf(text), system)).toBe(alphanumeric.indexOf(check));
    expect(checksOut(valuesOf(text + check), system)).toBe(true);
  });
});

describe("a typed code", () => {
  test("is four groups of four from an alphabet without look-alikes", () => {
    fc.assert(
      fc.property(anyCode, (code) => {
        expect(inGroups(code)).toMatch(/^([2-9CDFHJKMNPRTVWXY]{4}-){3}[2-9CDFHJKMNPRTVWXY]{4}$/);
      }),
    );
  });

  test("carries at least 60 bits: 15 free letters of 23", () => {
    expect(15 * Math.log2(letters.length)).toBeGreaterThan(60);
    // Every letter takes part: the smallest and the largest seed of that range differ in the first and the last one.
    const last = typedCodeFrom(BigInt(letters.length) ** 15n - 1n);
    expect(last.slice(0, 15)).toBe(letters.charAt(22).repeat(15));
    expect(typedCodeFrom(0n).slice(0, 15)).toBe(letters.charAt(0).repeat(15));
  });

  test("is read whatever its case, hyphens, spaces and commonest misreadings", () => {
    fc.assert(
      fc.property(anyCode, (code) => {
        expect(readTypedCode(inGroups(code))).toBe(code);
        expect(readTypedCode(` ${inGroups(code).toLowerCase().replaceAll("-", " ")} `)).toBe(code);
        const misread = code
          .replaceAll("2", "Z")
          .replaceAll("5", "S")
          .replaceAll("8", "b")
          .replaceAll("V", "U");
        expect(readTypedCode(misread)).toBe(code);
      }),
    );
  });

  test("with any single wrong character, at any place, is not read", () => {
    fc.assert(
      fc.property(anyCode, (code) => {
        for (let place = 0; place < code.length; place += 1) {
          for (const letter of letters) {
            if (letter === code[place]) continue;
            expect(readTypedCode(code.slice(0, place) + letter + code.slice(place + 1))).toBeNull();
          }
        }
      }),
      { numRuns: 20 },
    );
  });

  test("with any two different characters exchanged, neighbours or not, is not read", () => {
    // Exhaustive over every pair of letters at every pair of places; the letters around them don't matter, because the
    // sum is linear.
    for (let first = 0; first < 15; first += 1) {
      for (let second = first + 1; second < 16; second += 1) expectExchangeCaught(first, second);
    }
  });

  test("with a letter missing, added, or from outside the alphabet is not read", () => {
    const code = typedCodeFrom(123_456_789n ** 5n);
    expect(readTypedCode(code.slice(1))).toBeNull();
    expect(readTypedCode(`${code}2`)).toBeNull();
    for (const letter of "01AEILOQ*") expect(readTypedCode(letter + code.slice(1))).toBeNull();
    expect(readTypedCode("")).toBeNull();
  });
});

function expectExchangeCaught(first: number, second: number): void {
  for (const left of letters) {
    const code = typedCodeFrom(seedWithLetter(left, first));
    const exchanged = [...code];
    [exchanged[first], exchanged[second]] = [code.charAt(second), code.charAt(first)];
    if (code[first] === code[second]) continue;
    expect(readTypedCode(exchanged.join("")), `${code} with ${first} and ${second} exchanged`).toBeNull();
  }
}

/** A code whose letters run through the alphabet, with one letter put at `place`. */
function seedWithLetter(letter: string, place: number): bigint {
  let seed = 0n;
  for (let index = 14; index >= 0; index -= 1) {
    const value = index === place ? letters.indexOf(letter) : (index * 7 + place) % letters.length;
    seed = seed * BigInt(letters.length) + BigInt(value);
  }
  return seed;
}
