import { z } from "zod";
import { AuditPage, type ChainCheck } from "../../views/administration/audit-page.tsx";
import { staffId } from "../domain/ids.ts";
import type { Services } from "../services.ts";
import { firstBrokenAuditRow } from "../store/audit.ts";
import { auditBefore, auditRowCount } from "../store/audit-page.ts";
import { allStaff } from "../store/staff.ts";
import { readQuery } from "./forms.ts";
import { frameOf } from "./page-frame.ts";
import type { AppContext, Route } from "./route.ts";

const rowsAPage = 100;
const auditQuery = z.object({
  before: z.coerce.number<string>().int().positive().optional(),
  subject: z.string().max(200).optional(),
});

/** The audit log, and the check that nobody has changed it. */
export function auditRoutes(services: Services): readonly Route[] {
  const show = (context: AppContext, checked: ChainCheck | null) => {
    const query = readQuery(context, auditQuery);
    const { before, subject } = query.ok ? query.value : {};
    const { rows, more } = auditBefore(services.db, { before, subject, limit: rowsAPage });
    const names = new Map(allStaff(services.db).map(({ id, name }) => [id, name]));
    const oldest = rows.at(-1)?.id;
    return context.html(
      <AuditPage
        frame={frameOf(services, context)}
        lines={rows.map((row) => ({ ...row, who: names.get(staffId(row.actor)) ?? row.actor }))}
        subject={subject}
        older={more && oldest !== undefined ? olderAddress(oldest, subject) : null}
        checked={checked}
      />,
    );
  };

  const check = (context: AppContext) =>
    show(context, { rows: auditRowCount(services.db), brokenAt: firstBrokenAuditRow(services.db) });

  return [
    { method: "GET", path: "/audit", needs: "see-audit", handle: (context) => show(context, null) },
    { method: "GET", path: "/audit/check", needs: "see-audit", handle: check },
  ];
}

const olderAddress = (before: number, subject: string | undefined): string =>
  `/audit?${new URLSearchParams({ before: String(before), ...(subject === undefined ? {} : { subject }) })}`;
