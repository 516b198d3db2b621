import { z } from "zod";
import { FirmwarePage } from "../../views/bench/firmware-page.tsx";
import { firmwareMeasures } from "../domain/firmware/around-firmware.ts";
import { firmwareStepsOf } from "../programme/firmware-steps.ts";
import type { Services } from "../services.ts";
import { unitsByFirmware } from "../store/units.ts";
import { benchFrame } from "./bench-frame.ts";
import { readQuery } from "./forms.ts";
import type { AppContext, Route } from "./route.ts";

const query = z.object({ version: z.string().max(100).catch("").default("") });
/** Reliefs are a clinician's to see. */
const measures = firmwareMeasures.filter((measure) => measure !== "reliefs-counted");

export const firmwareRoute = (services: Services): Route => ({
  method: "GET",
  path: "/bench/firmware",
  needs: "see-unit-health",
  handle: (context) => showFirmware(services, context),
});

async function showFirmware(services: Services, context: AppContext) {
  const versions = unitsByFirmware(services.db);
  const read = readQuery(context, query);
  const asked = read.ok ? read.value.version : "";
  const firmware = (versions.find((each) => each.firmware === asked) ?? versions[0])?.firmware ?? null;
  return context.html(
    <FirmwarePage
      frame={benchFrame(services, context, "/bench/firmware")}
      versions={versions}
      chosen={
        firmware === null ? null : { firmware, told: await firmwareStepsOf(services, firmware, measures) }
      }
    />,
  );
}
