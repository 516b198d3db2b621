/** What the first bytes of a message tell of its time. */
export interface Told {
  readonly boot: number;
  readonly uptimeSeconds: number;
  /** Unix seconds; null: not set. */
  readonly wallSeconds: number | null;
}

const keyOf = { boot: 3, uptime: 5, wall: 6 } as const;

/** When a message says that it was written, read from its first bytes without decoding it: keys 3, 5 and 6 of the envelope
 *  (SPEC.md section 4), and everything before them is an unsigned integer or the short text of the serial. null: not to
 *  be found so quickly. Decides who goes first and whether two devices speak under one name, never what is stored. */
export function toldIn(payload: Uint8Array): Told | null {
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
  let boot = 0;
  let uptimeSeconds = 0;
  for (let key = 0; key <= keyOf.wall; key++) {
    const name = head();
    if (name === null || name.major !== 0 || name.value !== key) return null;
    const value = head();
    if (value === null) return null;
    if (key === keyOf.wall)
      return { boot, uptimeSeconds, wallSeconds: value.major === 0 ? value.value : null };
    if (key === keyOf.boot) boot = value.value;
    if (key === keyOf.uptime) uptimeSeconds = value.value;
    if (value.major === 3) at += value.value;
    else if (value.major !== 0) return null;
  }
  return null;
}
