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

export interface SmallDisk {
  /** Where it is mounted. */
  readonly folder: string;
  readonly megabytes: number;
  /** A shell command after the copy, with the folder as $DATA_DIR. */
  readonly finally?: string;
  /** A file to make an ext4 in; without it the file system is in memory. */
  readonly image?: string;
}

const started = z.object({ msg: z.literal("started"), url: z.string(), mqttPort: z.number() });

/** Whether this user may mount a file system in a namespace of their own (root may; so may anybody where the kernel
 *  grants user namespaces). */
export const mayMount = (): boolean =>
  spawnSync("unshare", ["-rm", "sh", "-c", "mount -t tmpfs none /mnt"], { stdio: "ignore" }).status === 0;

/** Whether this user may mount an image with a real file system: root alone. */
export const mayMountImage = (): boolean =>
  process.getuid?.() === 0 && mayMount() && spawnSync("mkfs.ext4", ["-V"], { stdio: "ignore" }).status === 0;

/** Starts the service on a file system of `megabytes` that holds a copy of `seed`. The file system is mounted in a
 *  namespace of the process's own and goes with it. */
export async function startOnSmallDisk(seed: string, disk: SmallDisk): Promise<ServiceChild> {
  const { folder, megabytes, finally: last = "true", image } = disk;
  mkdirSync(folder, { recursive: true });
  const mounting =
    image === undefined
      ? `mount -t tmpfs -o size=${megabytes}m none "$DATA_DIR"`
      : `truncate -s ${megabytes}M "$IMAGE" && mkfs.ext4 -q -F "$IMAGE" &&
         mount -o loop,errors=remount-ro "$IMAGE" "$DATA_DIR"`;
  const script = `${mounting} && cp -a "$SEED/." "$DATA_DIR/" && sync -f "$DATA_DIR" && ${last} &&
    exec "$NODE" --import tsx server/start.ts`;
  const namespace = image === undefined ? "-rm" : "-m";
  return startService("unshare", [namespace, "sh", "-c", script], folder, { SEED: seed, IMAGE: image ?? "" });
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

/** What is on an image once nobody has it mounted any more; mounting it mends its journal. */
export function copyOfImage(image: string, mountPoint: string, copyTo: string): void {
  const script = 'mkdir "$3" && mount -o loop "$1" "$2" && cp -a "$2/." "$3/"';
  const done = spawnSync("unshare", ["-m", "sh", "-c", script, "sh", image, mountPoint, copyTo]);
  if (done.status !== 0) throw new Error(`the image could not be read: ${done.stderr}`);
}
