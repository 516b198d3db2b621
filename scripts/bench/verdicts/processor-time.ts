/** Milliseconds of processor time that `work` takes, all threads of this process together: what a core would need,
 *  whatever else the machine is doing. */
export function processorMilliseconds(work: () => void): number {
  const begun = process.cpuUsage();
  work();
  const { user, system } = process.cpuUsage(begun);
  return (user + system) / 1_000;
}
