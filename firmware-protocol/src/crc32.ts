/** The CRC-32 of ISO/IEC 8802-3 (Ethernet), reflected, polynomial 0xEDB88320: 0xCBF43926 for "123456789". */
export function crc32(bytes: Uint8Array): number {
  let remainder = 0xffffffff;
  for (const byte of bytes) {
    remainder ^= byte;
    for (let bit = 0; bit < 8; bit += 1) {
      remainder = (remainder & 1) === 1 ? (remainder >>> 1) ^ 0xedb88320 : remainder >>> 1;
    }
  }
  return (remainder ^ 0xffffffff) >>> 0;
}
