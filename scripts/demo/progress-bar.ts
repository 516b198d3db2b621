const width = 28;
const startOfLine = "\r\u001b[2K";

/** One line that fills up; plain lines, few of them, where nobody watches a terminal. */
export class ProgressBar {
  readonly #out: NodeJS.WriteStream;
  #lastTenth = -1;

  constructor(out: NodeJS.WriteStream) {
    this.#out = out;
  }

  show(share: number, words: string): void {
    const clipped = Math.min(1, Math.max(0, share));
    if (this.#out.isTTY) {
      const full = Math.round(clipped * width);
      const bar = `${"█".repeat(full)}${"░".repeat(width - full)}`;
      this.#out.write(`${startOfLine}  ${bar} ${String(Math.round(clipped * 100)).padStart(3)} %  ${words}`);
      return;
    }
    const tenth = Math.floor(clipped * 10);
    if (tenth === this.#lastTenth) return;
    this.#lastTenth = tenth;
    this.#out.write(`  ${tenth * 10} %  ${words}\n`);
  }

  clear(): void {
    if (this.#out.isTTY) this.#out.write(startOfLine);
  }
}
