/** Who the runner is while it plays a unit. All PEM. */
export interface Identity {
  readonly unit: string;
  readonly key: string;
  readonly certificateChain: string;
  /** null: the machine's own authorities. */
  readonly authority: string | null;
  readonly host: string;
  readonly port: number;
}
