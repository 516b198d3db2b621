/** Strict UTF-8 (RFC 3629): no overlong form, no surrogate, nothing above U+10FFFF. Written out because this package
 *  depends on nothing but the language. */

/** @returns the text, or null where the bytes are not UTF-8 */
export function textFromUtf8(bytes: Uint8Array, from: number, to: number): string | null {
  let text = "";
  let at = from;
  while (at < to) {
    const first = bytes[at] ?? 0;
    const length = sequenceLength(first);
    if (length === 0 || at + length > to) return null;
    let point = length === 1 ? first : first & (0x7f >> length);
    for (let next = 1; next < length; next++) {
      const byte = bytes[at + next] ?? 0;
      if ((byte & 0xc0) !== 0x80) return null;
      point = (point << 6) | (byte & 0x3f);
    }
    if (!isScalar(point) || point < smallestOf(length)) return null;
    text += String.fromCodePoint(point);
    at += length;
  }
  return text;
}

/** @throws RangeError on a lone surrogate, which UTF-8 has no form for */
export function utf8FromText(text: string): number[] {
  const bytes: number[] = [];
  for (const character of text) {
    const point = character.codePointAt(0) ?? 0;
    if (!isScalar(point)) throw new RangeError("text: a lone surrogate has no UTF-8 form");
    if (point < 0x80) bytes.push(point);
    else if (point < 0x800) bytes.push(0xc0 | (point >> 6), continuation(point));
    else if (point < 0x10000) bytes.push(0xe0 | (point >> 12), continuation(point >> 6), continuation(point));
    else {
      bytes.push(0xf0 | (point >> 18), continuation(point >> 12));
      bytes.push(continuation(point >> 6), continuation(point));
    }
  }
  return bytes;
}

const continuation = (bits: number): number => 0x80 | (bits & 0x3f);
const isScalar = (point: number): boolean => point <= 0x10ffff && (point < 0xd800 || point > 0xdfff);

function sequenceLength(first: number): number {
  if (first < 0x80) return 1;
  if (first >= 0xc2 && first < 0xe0) return 2;
  if (first >= 0xe0 && first < 0xf0) return 3;
  return first >= 0xf0 && first < 0xf5 ? 4 : 0;
}

function smallestOf(length: number): number {
  if (length === 3) return 0x800;
  return length === 4 ? 0x10000 : 0;
}
