/** `npm run bench -- NAME [options]` runs `NAME/NAME.ts` beside this file. */
const [name, ...rest] = process.argv.slice(2);
if (name === undefined || !/^[a-z-]+$/.test(name)) {
  process.stderr.write("npm run bench -- NAME [--quick] [--seed N]\n");
  process.exitCode = 2;
} else {
  process.argv.splice(2, process.argv.length, ...rest);
  await import(`./${name}/${name}.ts`);
}
