/** The names of a record that is written out in full, in the order they are written in: `Object.keys` forgets their type,
 *  since in general an object may have more than its type says. */
export const keysOf = <Name extends string>(record: Readonly<Record<Name, unknown>>): Name[] => {
  const isName = (name: string): name is Name => name in record;
  return Object.keys(record).filter(isName);
};
