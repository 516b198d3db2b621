import { type ChildProcess, spawn } from "node:child_process";
import { once } from "node:events";
import { join } from "node:path";
import { createInterface } from "node:readline";

export interface IngestChild {
  readonly port: number;
  readonly process: ChildProcess;
  /** Without warning, as a power cut would. */
  kill(): Promise<void>;
}

/** A server with nothing but the ingest, in a process of its own. Resolves once units may connect. */
export async function startIngest(dataFolder: string, planted: readonly string[] = []): Promise<IngestChild> {
  const script = join(import.meta.dirname, "ingest-process.ts");
  const child = spawn(process.execPath, ["--import", "tsx", script, dataFolder, ...planted], {
    stdio: ["ignore", "pipe", "inherit"],
  });
  const ended = once(child, "exit").then(([code]) => Promise.reject(new Error(`it ended with ${code}`)));
  const [line] = await Promise.race([once(createInterface({ input: child.stdout }), "line"), ended]);
  ended.catch(() => {});
  return {
    port: Number(line),
    process: child,
    kill: async () => {
      if (child.exitCode !== null || child.signalCode !== null) return;
      const gone = once(child, "exit");
      child.kill("SIGKILL");
      await gone;
    },
  };
}
