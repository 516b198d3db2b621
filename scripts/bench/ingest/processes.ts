import { type ChildProcess, fork } from "node:child_process";
import { once } from "node:events";
import { join } from "node:path";
import type { CatchUpAnswer, LoadAnswer, LoadCommand } from "./load-process.ts";
import type { ServerFigures, WayOfStoring } from "./server-process.ts";

const start = (script: string, args: readonly string[]): ChildProcess =>
  fork(join(import.meta.dirname, script), [...args], { execArgv: ["--import", "tsx"] });

/** The next message of a child. @throws when the child ends instead */
function answerOf<Answer>(child: ChildProcess): Promise<Answer> {
  return new Promise((resolve, reject) => {
    const ended = (code: number | null) => reject(new Error(`a process of the bench ended with ${code}`));
    child.once("exit", ended);
    child.once("message", (answer: Answer) => {
      child.off("exit", ended);
      resolve(answer);
    });
  });
}

export interface BenchServer {
  readonly mqttPort: number;
  readonly httpPort: number;
  figures(): Promise<ServerFigures>;
  stop(): Promise<void>;
}

export async function startServer(dataFolder: string, way: WayOfStoring): Promise<BenchServer> {
  const child = start("server-process.ts", [dataFolder, way]);
  const ports = await answerOf<{ mqttPort: number; httpPort: number }>(child);
  return {
    ...ports,
    figures: () => {
      const answer = answerOf<ServerFigures>(child);
      child.send("figures");
      return answer;
    },
    stop: async () => {
      const gone = once(child, "exit");
      child.send("quit");
      await gone;
    },
  };
}

export interface BenchLoad {
  connect(port: number, credentialsFile: string, units: number): Promise<{ seconds: number }>;
  run(command: Extract<LoadCommand, { do: "saturate" | "steady" }>): Promise<LoadAnswer>;
  catchUp(command: Extract<LoadCommand, { do: "catch-up" }>): Promise<CatchUpAnswer>;
  stop(): Promise<void>;
}

export function startLoad(): BenchLoad {
  const child = start("load-process.ts", []);
  let next = 0;
  const ask = <Answer>(command: LoadCommand): Promise<Answer> => {
    const number = next++;
    return new Promise((resolve, reject) => {
      const heard = (told: { number: number; answer?: Answer; error?: string }) => {
        if (told.number !== number) return;
        child.off("message", heard);
        if (told.answer === undefined) reject(new Error(told.error ?? "no answer"));
        else resolve(told.answer);
      };
      child.on("message", heard);
      child.send({ number, command });
    });
  };
  return {
    connect: (port, credentialsFile, units) => ask({ do: "connect", port, credentialsFile, units }),
    run: (command) => ask(command),
    catchUp: (command) => ask(command),
    stop: async () => {
      const gone = once(child, "exit");
      child.send({ number: next++, command: { do: "quit" } satisfies LoadCommand });
      await gone;
    },
  };
}
