/** A serial or a reference: never broken at its hyphen, since people compare it letter by letter. */
export const Ref = ({ to }: { to: string }) => <span class="ref">{to}</span>;
