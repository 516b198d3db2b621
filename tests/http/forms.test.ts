import { Hono } from "hono";
import { describe, expect, it } from "vitest";
import { z } from "zod";
import { type FormRead, readForm, readQuery, ticked } from "../../server/http/forms.ts";

const schema = z.object({
  name: z.string().trim().max(5),
  weight: z.coerce.number<string>().min(10).max(200),
  note: z.string().optional(),
  kinds: ticked(z.enum(["lift", "lean"])),
  size: z.enum(["S", "M"]),
});

async function read(pairs: [string, string][]): Promise<FormRead<z.output<typeof schema>>> {
  let form: FormRead<z.output<typeof schema>> | undefined;
  const app = new Hono().post("/", async (context) => {
    form = await readForm(context, schema);
    return context.text("read");
  });
  await app.request("/", { method: "POST", body: new URLSearchParams(pairs) });
  return form ?? expect.fail("not read");
}

const good: [string, string][] = [
  ["csrf", "secret"],
  ["name", " Ada "],
  ["weight", "70.5"],
  ["note", "  "],
  ["size", "M"],
];

describe("a form", () => {
  it("is read into its schema's values; a blank box is a missing one", async () => {
    expect(await read(good)).toEqual({
      ok: true,
      value: { name: "Ada", weight: 70.5, kinds: [], size: "M" },
    });
  });

  it("takes one tick or several", async () => {
    const one = await read([...good, ["kinds", "lift"]]);
    expect(one.ok && one.value.kinds).toEqual(["lift"]);
    const both = await read([...good, ["kinds", "lift"], ["kinds", "lean"]]);
    expect(both.ok && both.value.kinds).toEqual(["lift", "lean"]);
  });

  it("that can't be accepted names each field in a sentence and gives back what was typed, save secrets", async () => {
    const form = await read([
      ["csrf", "secret"],
      ["name", "Adelaide"],
      ["weight", "heavy"],
      ["note", "kept"],
      ["kinds", "jump"],
      ["password", "secret"],
    ]);
    expect(form).toEqual({
      ok: false,
      problems: {
        name: "Use at most 5 characters.",
        weight: "Enter a number.",
        kinds: "Choose one of those listed.",
        size: "This is needed.",
      },
      typed: { name: "Adelaide", weight: "heavy", note: "kept", kinds: "jump" },
    });
  });

  it("says which end of a range was passed", async () => {
    const light = await read(good.map(([name, value]) => [name, name === "weight" ? "9" : value]));
    expect(!light.ok && light.problems).toEqual({ weight: "Enter 10 or more." });
    const heavy = await read(good.map(([name, value]) => [name, name === "weight" ? "201" : value]));
    expect(!heavy.ok && heavy.problems).toEqual({ weight: "Enter 200 or less." });
  });

  it("can't reach into an object's own making", async () => {
    const form = await read([...good, ["__proto__", "x"], ["constructor", "y"]]);
    expect(form.ok).toBe(true);
  });

  it("of a query string is read the same way", async () => {
    let form: FormRead<{ level?: string | undefined }> | undefined;
    const app = new Hono().get("/", (context) => {
      form = readQuery(context, z.object({ level: z.enum(["watch"]).optional() }));
      return context.text("read");
    });
    await app.request("/?level=");
    expect(form).toEqual({ ok: true, value: {} });
    await app.request("/?level=other");
    expect(form).toMatchObject({ ok: false, problems: { level: "Choose one of those listed." } });
  });
});
