import type { Findings } from "../findings.ts";
import { Downlink } from "./downlink.ts";
import type { Identity } from "./identity.ts";
import { ReceiptBook } from "./receipt-book.ts";
import { Session } from "./session.ts";
import { Words } from "./words.ts";

/** What every check against a server has at hand. */
export class Run {
  readonly findings: Findings;
  readonly words: Words;
  readonly downlink: Downlink;
  readonly book: ReceiptBook;
  /** May change: a renewal gives another certificate. */
  identity: Identity;

  constructor(identity: Identity, findings: Findings, boot: number) {
    this.identity = identity;
    this.findings = findings;
    this.words = new Words(identity.unit, boot, Date.now());
    this.downlink = new Downlink(identity.unit, findings);
    this.book = new ReceiptBook(boot, findings);
  }

  /** @throws where the server does not let the unit in: nothing more can be tried */
  async connect(): Promise<Session> {
    const session = await Session.open(this.identity, this);
    if (typeof session === "string")
      throw new Error(`The server did not let ${this.identity.unit} in: ${session}.`);
    return session;
  }
}
