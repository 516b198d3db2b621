import { type ChildProcess, spawn, spawnSync } from "node:child_process";
import { once } from "node:events";
import { mkdirSync } from "node:fs";
import { join } from "node:path";
import { createInterface } from "node:readline";
import { z } from "zod";

/** The whole service, started as an operator starts it, on a disk of its own. */
export interface ServiceChild {
  readonly url: string;
  readonly mqttPort: number;
  readonly process: ChildProcess;
  /** The data folder, as this process reaches it. */
  readonly dataFolder: string;
  readonly exited: Promise<number | null>;
}

const started = z.object({ msg: z.literal("started"), url: z.string(), mqttPort: z.number() });

/** Whether this user may mount a file system in a namespace of their own (root may; so may anybody where the kernel
 *  grants user namespaces). */
export const mayMount = (): boolean =>
  spawnSync("unshare", ["-rm", "sh", "-c", "mount -t tmpfs none /mnt"], { stdio: "ignore" }).status === 0;

/** Starts the service on a file system of `megabytes` that holds a copy of `seed`. The file system is mounted in a
 *  namespace of the process's own and goes with it.
 *  @param disk where it is mounted, and its size; `then` is a shell command after the copy, with the folder as $DATA_DIR */
export async function startOnSmallDisk(
  seed: string,
  disk: { readonly folder: string; readonly megabytes: number; readonly then?: string },
): Promise<ServiceChild> {
  const { folder, megabytes, then = "true" } = disk;
  mkdirSync(folder, { recursive: true });
  const script = `mount -t tmpfs -o size=${megabytes}m none "$DATA_DIR" && cp -a "$SEED/." "$DATA_DIR/" && ${then} &&
    exec "$NODE" --import tsx server/start.ts`;
  return startService("unshare", ["-rm", "sh", "-c", script], folder, { SEED: seed });
}

async function startService(
  command: string,
  args: readonly string[],
  dataFolder: string,
  environment: Readonly<Record<string, string>>,
): Promise<ServiceChild> {
  const child = spawn(command, [...args], {
    cwd: join(import.meta.dirname, "../.."),
    env: {
      ...{ PATH: process.env.PATH, NODE: process.execPath, DATA_DIR: dataFolder, PORT: "0", MQTT_PORT: "0" },
      ...environment,
    },
    stdio: ["ignore", "pipe", "pipe"],
  });
  const exited = new Promise<number | null>((resolve) => child.once("exit", resolve));
  let said = "";
  child.stderr.on("data", (chunk) => {
    said += chunk;
  });
  const lines = createInterface({ input: child.stdout });
  const told = await new Promise<z.infer<typeof started>>((resolve, reject) => {
    lines.on("line", (line) => {
      const read = started.safeParse(JSON.parse(line));
      if (read.success) resolve(read.data);
    });
    void exited.then((code) => reject(new Error(`ended with ${code}: ${said}`)));
  });
  const { url, mqttPort } = told;
  return { url, mqttPort, process: child, exited, dataFolder: `/proc/${child.pid}/root${dataFolder}` };
}

/** Stops it dead, copies its folder as a power cut would leave it, and ends it. */
export async function crash(child: ServiceChild, copyTo: string): Promise<void> {
  child.process.kill("SIGSTOP");
  mkdirSync(copyTo);
  spawnSync("cp", ["-a", `${child.dataFolder}/.`, copyTo]);
  child.process.kill("SIGKILL");
  if (child.process.signalCode === null) await once(child.process, "exit");
}
