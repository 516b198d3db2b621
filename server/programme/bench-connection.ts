import type { BenchSessionId } from "../domain/ids.ts";
import type { Instant } from "../domain/units.ts";
import { revokeCertificatesOfBenchSession } from "../store/certificates.ts";
import type { Database } from "../store/database.ts";
import { withdrawUnspentCodesOfBenchSession } from "../store/pairing-codes.ts";

/** Takes back what let the unit connect for this session. Tell `certificates` after the commit: the broker then drops
 *  the connection. */
export function endConnection(tx: Database, session: BenchSessionId, at: Instant): void {
  revokeCertificatesOfBenchSession(tx, session, at);
  withdrawUnspentCodesOfBenchSession(tx, session, at);
}
