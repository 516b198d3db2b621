/** When a message says that it was written, Unix seconds, read from its first bytes without decoding it: the wall clock
 *  is key 6 of the envelope (SPEC.md section 4), and everything before it is an unsigned integer or the short text of
 *  the serial. null: not set, or not to be found so quickly. Decides only who goes first, never what is stored. */
export function toldAt(payload: Uint8Array): number | null {
  let at = 1;
  const head = (): { major: number; value: number } | null => {
    const initial = payload[at];
    if (initial === undefined) return null;
    const size = initial & 0x1f;
    at += 1;
    if (size < 24) return { major: initial >> 5, value: size };
    const bytes = size === 24 ? 1 : size === 25 ? 2 : size === 26 ? 4 : 0;
    if (bytes === 0 || at + bytes > payload.length) return null;
    let value = 0;
    for (let more = 0; more < bytes; more++) value = value * 256 + (payload[at++] ?? 0);
    return { major: initial >> 5, value };
  };
  for (let key = 0; key <= 6; key++) {
    const name = head();
    if (name === null || name.major !== 0 || name.value !== key) return null;
    const value = head();
    if (value === null) return null;
    if (key === 6) return value.major === 0 ? value.value : null;
    if (value.major === 3) at += value.value;
    else if (value.major !== 0) return null;
  }
  return null;
}
