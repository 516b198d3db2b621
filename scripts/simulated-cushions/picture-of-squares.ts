/** A black-and-white picture, one byte a pixel: 0 ink, 255 paper. */
export interface Picture {
  readonly width: number;
  readonly height: number;
  readonly pixels: Uint8ClampedArray;
}

const pixelsPerModule = 6;

/** Paints an SVG picture that is made of squares and level strokes only, as drawn codes are, the way a screen would.
 *  @returns null where the text holds no such picture */
export function paintSquares(svg: string): Picture | null {
  const box = /viewBox="0 0 (\d+(?:\.\d+)?) (\d+(?:\.\d+)?)"/.exec(svg);
  if (!box) return null;
  const width = Math.round(Number(box[1]) * pixelsPerModule);
  const height = Math.round(Number(box[2]) * pixelsPerModule);
  if (width === 0 || height === 0 || width * height > 16_000_000) return null;
  const picture: Picture = { width, height, pixels: new Uint8ClampedArray(width * height).fill(255) };
  for (const [tag] of svg.matchAll(/<path\b[^>]*>/g)) paintPath(picture, tag);
  return picture;
}

function paintPath(picture: Picture, tag: string): void {
  const path = / d="([^"]*)"/.exec(tag)?.[1];
  if (path === undefined) return;
  const stroke = / stroke="([^"]*)"/.exec(tag)?.[1];
  const fill = / fill="([^"]*)"/.exec(tag)?.[1];
  const ink = shade(stroke ?? fill ?? "black");
  for (const shape of shapesOf(path)) {
    if (stroke !== undefined)
      rectangle(picture, shape.left, shape.top - 0.5, shape.right, shape.bottom + 0.5, ink);
    else rectangle(picture, shape.left, shape.top, shape.right, shape.bottom, ink);
  }
}

const shade = (colour: string): number => (/^(#f{3,8}|white)$/i.test(colour) ? 255 : 0);

interface Shape {
  left: number;
  right: number;
  top: number;
  bottom: number;
}

/** Each pen-down run of a path, by the box around it: exact for level strokes and for squares. */
function shapesOf(path: string): Shape[] {
  const shapes: Shape[] = [];
  let x = 0;
  let y = 0;
  let shape: Shape | null = null;
  for (const [, command, numbers] of path.matchAll(/([MmHhVvZz])([^MmHhVvZz]*)/g)) {
    const [first = 0, next = 0] = (numbers ?? "")
      .trim()
      .split(/[\s,]+/)
      .map(Number);
    if (command === "M" || command === "m") {
      x = command === "M" ? first : x + first;
      y = command === "M" ? next : y + next;
      shape = null;
      continue;
    }
    if (command === "H") x = first;
    if (command === "h") x += first;
    if (command === "V") y = first;
    if (command === "v") y += first;
    const from: number = command === "h" ? x - first : x;
    shape ??= startShape(shapes, from, command === "v" ? y - first : y);
    shape.left = Math.min(shape.left, x);
    shape.right = Math.max(shape.right, x);
    shape.top = Math.min(shape.top, y);
    shape.bottom = Math.max(shape.bottom, y);
  }
  return shapes;
}

function startShape(shapes: Shape[], x: number, y: number): Shape {
  const shape = { left: x, right: x, top: y, bottom: y };
  shapes.push(shape);
  return shape;
}

function rectangle(
  picture: Picture,
  left: number,
  top: number,
  right: number,
  bottom: number,
  ink: number,
): void {
  const fromX = Math.max(0, Math.round(left * pixelsPerModule));
  const untilX = Math.min(picture.width, Math.round(right * pixelsPerModule));
  const fromY = Math.max(0, Math.round(top * pixelsPerModule));
  const untilY = Math.min(picture.height, Math.round(bottom * pixelsPerModule));
  for (let y = fromY; y < untilY; y += 1) {
    picture.pixels.fill(ink, y * picture.width + fromX, y * picture.width + untilX);
  }
}
