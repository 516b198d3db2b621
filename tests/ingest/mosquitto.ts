import { type ChildProcess, spawn, spawnSync } from "node:child_process";
import { once } from "node:events";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { connect, createServer } from "node:net";
import { tmpdir, userInfo } from "node:os";
import { join } from "node:path";
import { setTimeout as wait } from "node:timers/promises";
import { type Authority, consoleName } from "../../server/enrolment/authority.ts";

/** Eclipse Mosquitto: a broker that is not ours. Debian puts it where only an administrator's path leads. */
const program = ["mosquitto", "/usr/sbin/mosquitto"].find(
  (path) => spawnSync(path, ["-h"]).error === undefined,
);
export const hasMosquitto = program !== undefined;

/** Mosquitto standing in front of us, told to trust our authority and to hold each unit to its own topics: the very
 *  settings that DEVELOPERS.md gives. */
export class Mosquitto {
  readonly port: number;
  readonly #folder: string;
  #process: ChildProcess | null = null;

  private constructor(folder: string, port: number) {
    this.#folder = folder;
    this.port = port;
  }

  static async inFrontOf(authority: Authority, revocations: string): Promise<Mosquitto> {
    const folder = mkdtempSync(join(tmpdir(), "front-"));
    const port = await freePort();
    const path = (name: string) => join(folder, name);
    writeFileSync(path("root.pem"), authority.rootPem);
    writeFileSync(path("revoked.crl"), revocations);
    writeFileSync(path("broker.pem"), authority.broker.certificate);
    writeFileSync(path("broker.key.pem"), authority.broker.key, { mode: 0o600 });
    writeFileSync(path("rules"), documented("acl").replaceAll("<console>", consoleName));
    const settings = documented("conf")
      .replaceAll("<folder>", folder)
      .replace("<port> <address>", `${port} 127.0.0.1`)
      .replace("<user>", userInfo().username);
    writeFileSync(path("mosquitto.conf"), settings);
    return new Mosquitto(folder, port);
  }

  /** Resolves once it listens. */
  async start(): Promise<void> {
    const started = spawn(program ?? "", ["-c", join(this.#folder, "mosquitto.conf")], { stdio: "ignore" });
    this.#process = started;
    while (!(await listens(this.port))) {
      if (started.exitCode !== null) throw new Error(`mosquitto ended with ${started.exitCode}`);
      await wait(20);
    }
  }

  async kill(): Promise<void> {
    const dying = this.#process;
    if (dying === null || dying.exitCode !== null) return;
    const gone = once(dying, "exit");
    dying.kill("SIGKILL");
    await gone;
    this.#process = null;
  }

  async remove(): Promise<void> {
    await this.kill();
    rmSync(this.#folder, { recursive: true, force: true });
  }
}

/** A listing of DEVELOPERS.md, so that what an operator copies is what was tried. */
function documented(kind: "conf" | "acl"): string {
  const text = readFileSync(join(import.meta.dirname, "../../DEVELOPERS.md"), "utf8");
  const listing = new RegExp(`\`\`\`${kind}\\n([\\s\\S]*?)\`\`\``).exec(text)?.[1];
  if (listing === undefined) throw new Error(`DEVELOPERS.md has no listing "${kind}"`);
  return listing;
}

async function freePort(): Promise<number> {
  const server = createServer().listen(0, "127.0.0.1");
  await once(server, "listening");
  const address = server.address();
  server.close();
  if (address === null || typeof address === "string") throw new Error("no port");
  return address.port;
}

const listens = (port: number): Promise<boolean> =>
  new Promise((resolve) => {
    const socket = connect(port, "127.0.0.1", () => {
      socket.destroy();
      resolve(true);
    });
    socket.on("error", () => resolve(false));
  });
