/** Reads a body as text and stops at the limit, whatever its announced length. @returns null when it is larger */
export async function readLimited(request: Request, limitOctets: number): Promise<string | null> {
  if (request.body === null) return "";
  const chunks: Uint8Array[] = [];
  let length = 0;
  const reader = request.body.getReader();
  for (;;) {
    const { done, value } = await reader.read();
    if (done) return Buffer.concat(chunks).toString("utf8");
    length += value.byteLength;
    if (length > limitOctets) {
      await reader.cancel();
      return null;
    }
    chunks.push(value);
  }
}
