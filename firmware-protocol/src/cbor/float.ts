/** Floating-point widths of CBOR, RFC 8949 section 3.3, and which of them is the shortest that loses nothing
 *  (section 4.2.1). */
export type FloatWidth = 2 | 4 | 8;

const scratch = new DataView(new ArrayBuffer(8));
const quietNotANumber = 0x7e00;

/** The value of a half-precision float. Source: RFC 8949 Appendix D. */
export function halfToNumber(bits: number): number {
  const exponent = (bits >> 10) & 0x1f;
  const fraction = bits & 0x3ff;
  const sign = bits & 0x8000 ? -1 : 1;
  if (exponent === 0) return sign * fraction * 2 ** -24;
  if (exponent === 31) return fraction === 0 ? sign * Number.POSITIVE_INFINITY : Number.NaN;
  return sign * (1024 + fraction) * 2 ** (exponent - 25);
}

/** Half-precision bits of a number, or null where half precision would change it. */
export function numberToHalf(value: number): number | null {
  if (Number.isNaN(value)) return quietNotANumber;
  const sign = value < 0 || Object.is(value, -0) ? 0x8000 : 0;
  const size = Math.abs(value);
  if (size === Number.POSITIVE_INFINITY) return sign | 0x7c00;
  if (size < 2 ** -14) {
    const steps = size * 2 ** 24;
    return Number.isInteger(steps) ? sign | steps : null;
  }
  if (size > 65504) return null;
  scratch.setFloat64(0, size);
  const exponent = (scratch.getUint16(0) >> 4) - 1023;
  const fraction = (size / 2 ** exponent - 1) * 1024;
  return Number.isInteger(fraction) ? sign | ((exponent + 15) << 10) | fraction : null;
}

export function shortestWidth(value: number): FloatWidth {
  if (numberToHalf(value) !== null) return 2;
  return Math.fround(value) === value ? 4 : 8;
}
