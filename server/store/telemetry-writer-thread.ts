/** The thread that writes telemetry: its own connection to the same file, asked one thing at a time. */
import { parentPort, workerData } from "node:worker_threads";
import { openDatabase } from "./database.ts";
import { createTelemetryStore } from "./telemetry.ts";
import { unwired, type WriterAnswer, type WriterRequest } from "./telemetry-thread-wire.ts";

const port = parentPort;
const dataFolder: unknown = workerData;
if (port === null || typeof dataFolder !== "string") throw new Error("to be started with a data folder");
const database = openDatabase(dataFolder, { again: true });
const store = createTelemetryStore(database);

async function answer(request: WriterRequest): Promise<WriterAnswer> {
  switch (request.ask) {
    case "append":
      return { answer: "appended", outcome: await store.append(unwired(request.batch)) };
    case "tidy":
      return { answer: "tidied", isMore: await store.tidy(request.now, request.forMilliseconds) };
    case "unreviewed": {
      const { unit } = request;
      if (unit === null) return { answer: "unreviewed", units: await store.unreviewed() };
      const news = await store.unreviewedOf(unit);
      return { answer: "unreviewed", units: news === null ? [] : [{ unit, ...news }] };
    }
    case "close":
      database.driver.close();
      return { answer: "closed" };
  }
}

let before: Promise<void> = Promise.resolve();
port.on("message", ({ number, request }: { number: number; request: WriterRequest }) => {
  before = before
    .then(() => answer(request))
    .catch(
      (error: unknown): WriterAnswer => ({
        answer: "failed",
        reason: error instanceof Error ? error.message : String(error),
        code: error instanceof Error && "code" in error ? String(error.code) : null,
      }),
    )
    .then((made) => {
      port.postMessage({ number, answer: made });
      if (made.answer === "closed") port.close();
    });
});
port.postMessage({ number: 0, answer: { answer: "closed" } });
