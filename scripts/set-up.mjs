// Plain Node, no dependencies: runs before `npm test`, `npm run demo` and `npm start`, so that a bare clone works.
// Installs when node_modules is missing or was made from another lock file.
import { spawn } from "node:child_process";
import { createHash } from "node:crypto";
import { existsSync, lstatSync, readFileSync, writeFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";

const root = join(dirname(fileURLToPath(import.meta.url)), "..");
const modules = join(root, "node_modules");
const stamp = join(modules, ".installed-from");
const lockDigest = createHash("sha256")
  .update(readFileSync(join(root, "package-lock.json")))
  .digest("hex");

const major = Number(process.versions.node.split(".")[0]);
if (major < 20 || major > 22) {
  console.error(`Cushionry runs on Node 20 to 22; this is Node ${process.versions.node}.`);
  process.exit(1);
}

if (existsSync(stamp) && readFileSync(stamp, "utf8") === lockDigest) process.exit(0);

// Installing would empty the folder it leads to, and that is another's.
if (lstatSync(modules, { throwIfNoEntry: false })?.isSymbolicLink()) {
  console.error(
    "node_modules is a link, and was made from another lock file: bring the folder it leads to up to date.",
  );
  process.exit(1);
}

console.log("Installing packages (about a minute and a half: the database driver may be compiled here).");
const started = performance.now();
const seconds = () => Math.round((performance.now() - started) / 1000);
const progress = setInterval(() => {
  if (process.stdout.isTTY) process.stdout.write(`\r  ${seconds()} s `);
  else if (seconds() % 15 === 0) console.log(`  ${seconds()} s`);
}, 1000);

const install = spawn("npm", ["ci", "--no-fund", "--no-audit"], {
  cwd: root,
  stdio: ["ignore", "ignore", "pipe"],
  // The packages a development check needs are part of both commands, whatever the caller's environment says.
  env: { ...process.env, NODE_ENV: "development" },
});
let errors = "";
install.stderr.on("data", (chunk) => {
  errors += chunk;
});
install.on("close", (code) => {
  clearInterval(progress);
  if (code !== 0) {
    console.error(`\nnpm ci failed (exit ${code}). Nothing else was started. It said:\n${errors}`);
    process.exit(1);
  }
  writeFileSync(stamp, lockDigest);
  console.log(`\rInstalled in ${seconds()} s.`);
});
