import { readFile } from "node:fs/promises";
import { createRequire } from "node:module";
import { prepareZXingModule, readBarcodes } from "zxing-wasm/reader";
import { paintSquares } from "./picture-of-squares.ts";

let prepared: Promise<unknown> | null = null;

/** Loads the code reader from this machine: it would otherwise ask a server elsewhere for its program. */
function prepareReader(): Promise<unknown> {
  prepared ??= (async () => {
    const path = createRequire(import.meta.url).resolve("zxing-wasm/reader/zxing_reader.wasm");
    const program = await readFile(path);
    const wasmBinary = program.buffer.slice(program.byteOffset, program.byteOffset + program.byteLength);
    return prepareZXingModule({ overrides: { wasmBinary }, fireImmediately: true });
  })();
  return prepared;
}

/** Looks at a drawn pairing code as the unit's camera would: pixels in, text out, with a code reader that shares
 *  nothing with what drew it.
 *  @returns null where no code can be made out */
export async function readPairingPicture(svg: string): Promise<string | null> {
  const picture = paintSquares(svg);
  if (!picture) return null;
  await prepareReader();
  const data = new Uint8ClampedArray(picture.width * picture.height * 4);
  picture.pixels.forEach((shade, pixel) => {
    data.fill(shade, pixel * 4, pixel * 4 + 3);
    data[pixel * 4 + 3] = 255;
  });
  const image = { data, width: picture.width, height: picture.height, colorSpace: "srgb" as const };
  const found = await readBarcodes(image, { formats: ["QRCode"], maxNumberOfSymbols: 1 });
  return found[0]?.text ?? null;
}
