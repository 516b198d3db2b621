export interface BenchOptions {
  readonly quick: boolean;
  readonly seed: string;
  say(line: string): void;
}
