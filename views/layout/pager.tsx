interface PagerProps {
  readonly path: string;
  readonly query: Readonly<Record<string, string>>;
  readonly page: number;
  readonly perPage: number;
  readonly total: number;
}

/** Earlier and later pages of a list, with the filter kept. */
export function Pager({ path, query, page, perPage, total }: PagerProps) {
  const pages = Math.max(1, Math.ceil(total / perPage));
  if (pages === 1) return null;
  const address = (to: number) => `${path}?${new URLSearchParams({ ...query, page: String(to) })}`;
  return (
    <nav class="pager" aria-label="Pages of this list">
      {page > 1 ? (
        <a class="button quiet" href={address(page - 1)} rel="prev">
          Page {page - 1}
        </a>
      ) : (
        <span />
      )}
      <span>
        Page {page} of {pages}
      </span>
      {page < pages ? (
        <a class="button quiet" href={address(page + 1)} rel="next">
          Page {page + 1}
        </a>
      ) : (
        <span />
      )}
    </nav>
  );
}
