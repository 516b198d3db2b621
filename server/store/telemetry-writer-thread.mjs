/* A thread doesn't inherit what lets its process run TypeScript (Node 20), so it begins in JavaScript. */
import { register } from "tsx/esm/api";

register();
await import("./telemetry-writer-thread.ts");
