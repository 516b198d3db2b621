import { type CheckSystem, checksOut, checkValue } from "./check-character.ts";

/** The pairing code for people without a camera: four groups of four, `7KD4-MX2P-C93H-W6TF`.
 *  Of every pair that is misread in print or by telephone one is kept at most, and there are no vowels to make words
 *  with. Leaves 23 letters: a prime, so that the check character comes from the same alphabet. */
const alphabet = "23456789CDFHJKMNPRTVWXY";
const lettersBeforeCheck = 15;
const groupLength = 4;

/** 5 generates all 22 non-zero remainders of 23, so even letters far apart can't be exchanged unnoticed. */
const typedCodeCheck: CheckSystem = { modulus: alphabet.length, radix: 5 };

/** Misreadings that have only one likely meaning here. 0, O, 1, I and L have none: they are refused. */
const readAs: Readonly<Record<string, string>> = { Z: "2", S: "5", B: "8", G: "6", U: "V" };

/** 15 letters of 23 carry 67.8 bits. @param seed at least 256 bits, uniform, as a number
 *  @returns the code without hyphens, its check character last */
export function typedCodeFrom(seed: bigint): string {
  const base = BigInt(alphabet.length);
  const values: number[] = [];
  let rest = seed;
  for (let index = 0; index < lettersBeforeCheck; index += 1) {
    values.push(Number(rest % base));
    rest /= base;
  }
  return [...values, checkValue(values, typedCodeCheck)].map((value) => alphabet.charAt(value)).join("");
}

/** Forgives case, hyphens, spaces and the misreadings above.
 *  @returns the code without hyphens, or null when it can't be one: a letter wrong, missing or exchanged */
export function readTypedCode(text: string): string | null {
  const letters = [...text.toUpperCase().replace(/[\s\-\u2010-\u2015]/gu, "")].map(
    (letter) => readAs[letter] ?? letter,
  );
  if (letters.length !== lettersBeforeCheck + 1) return null;
  const values = letters.map((letter) => alphabet.indexOf(letter));
  if (values.includes(-1) || !checksOut(values, typedCodeCheck)) return null;
  return letters.join("");
}

/** As printed. */
export function inGroups(code: string): string {
  const groups: string[] = [];
  for (let start = 0; start < code.length; start += groupLength) {
    groups.push(code.slice(start, start + groupLength));
  }
  return groups.join("-");
}
