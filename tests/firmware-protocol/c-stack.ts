/** Deepest stack that a function can need, from the call graphs that GCC writes with -fcallgraph-info=su: the frames along
 *  the deepest path, where the functions that call themselves again count once for each of `levels`. */
export function deepestStack(graph: string, entry: string, levels: number): number {
  const frames = new Map<string, number>();
  const calls = new Map<string, string[]>();
  for (const [, title = "", bytes = "0"] of graph.matchAll(
    /node: \{ title: "([^"]+)"[^\n]*?(\d+) bytes \((?:static|dynamic,bounded)\)/g,
  ))
    frames.set(title, Number(bytes));
  for (const [, from = "", to = ""] of graph.matchAll(
    /edge: \{ sourcename: "([^"]+)" targetname: "([^"]+)"/g,
  ))
    calls.set(from, [...(calls.get(from) ?? []), to]);
  const recursive = [...calls.keys()].filter((name) => reaches(calls, name, name));
  const outside = new Map<string, number>();
  const cycle = recursive.reduce((sum, name) => sum + (frames.get(name) ?? 0), 0) * levels;
  const deepest = (name: string): number => {
    const known = outside.get(name);
    if (known !== undefined) return known;
    const own = recursive.includes(name) ? cycle : (frames.get(name) ?? 0);
    const next = (calls.get(name) ?? []).filter(
      (called) => !recursive.includes(called) || !recursive.includes(name),
    );
    const depth = own + Math.max(0, ...next.map(deepest));
    outside.set(name, depth);
    return depth;
  };
  const start = [...frames.keys()].find((name) => name === entry || name.endsWith(`:${entry}`));
  if (start === undefined) throw new Error(`${entry} is not in the call graph`);
  return deepest(start);
}

function reaches(calls: ReadonlyMap<string, readonly string[]>, from: string, to: string): boolean {
  const seen = new Set<string>();
  const open = [...(calls.get(from) ?? [])];
  for (let name = open.pop(); name !== undefined; name = open.pop()) {
    if (name === to) return true;
    if (seen.has(name)) continue;
    seen.add(name);
    open.push(...(calls.get(name) ?? []));
  }
  return false;
}
