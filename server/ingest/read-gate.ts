import type { Duplex } from "node:stream";

/** Holds back what a connection's reader may read. While it is closed the bytes stay in the socket, and soon in the
 *  network and in the unit: nothing is lost, and nothing is gathered here. The broker library has such a pause too, but
 *  loses count of the packets that are settled during it. */
export class ReadGate {
  readonly #stream: Duplex;
  #closed = false;
  #asked = false;

  constructor(stream: Duplex) {
    this.#stream = stream;
    const read = stream.read.bind(stream);
    stream.read = (size?: number): unknown => {
      if (!this.#closed) return read(size);
      this.#asked = true;
      return null;
    };
  }

  get isClosed(): boolean {
    return this.#closed;
  }

  close(): void {
    this.#closed = true;
  }

  open(): void {
    if (!this.#closed) return;
    this.#closed = false;
    if (!this.#asked || this.#stream.destroyed) return;
    this.#asked = false;
    this.#stream.emit("readable");
  }
}
