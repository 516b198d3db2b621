import { toString as drawCode } from "qrcode";

/** ISO/IEC 18004 asks for four modules of quiet zone; level M restores about 15 % of damage, enough for a creased
 *  slip of paper, without making the modules too small to print. */
const drawing = { errorCorrectionLevel: "M", margin: 4 } as const;

/** The code as a QR picture: SVG without scripts, styles or a fixed size, so that the page decides how large it is. */
export async function pairingCodePicture(jws: string): Promise<string> {
  return drawCode(jws, { ...drawing, type: "svg" });
}
