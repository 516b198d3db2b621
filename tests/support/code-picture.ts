import { readFile } from "node:fs/promises";
import { createRequire } from "node:module";
import { PNG } from "pngjs";
import { prepareZXingModule, readBarcodes } from "zxing-wasm/reader";

let prepared: Promise<unknown> | null = null;

/** Loads the reader from this machine: it would otherwise ask a server elsewhere for its program. */
function prepareReader(): Promise<unknown> {
  prepared ??= (async () => {
    const path = createRequire(import.meta.url).resolve("zxing-wasm/reader/zxing_reader.wasm");
    const program = await readFile(path);
    const wasmBinary = program.buffer.slice(program.byteOffset, program.byteOffset + program.byteLength);
    return prepareZXingModule({ overrides: { wasmBinary }, fireImmediately: true });
  })();
  return prepared;
}

/** What a camera would read off a picture of the screen. The reader (zxing-cpp, compiled to WebAssembly) shares nothing
 *  with the library that drew the code (qrcode).
 *  @param png a screenshot
 *  @returns null where no code can be made out */
export async function readCodeFrom(png: Buffer): Promise<string | null> {
  const { data, width, height } = PNG.sync.read(png);
  await prepareReader();
  const image = { data: new Uint8ClampedArray(data), width, height, colorSpace: "srgb" as const };
  const found = await readBarcodes(image, { formats: ["QRCode"], maxNumberOfSymbols: 1 });
  return found[0]?.text ?? null;
}
