// One repair from an empty bench to a finished job, typed by the OpenAPI document: ADDRESS and KEY as arguments.
import createClient from "openapi-fetch";
import type { paths } from "./schema.js";

const [address, key] = process.argv.slice(2);
const bench = createClient<paths>({ baseUrl: address, headers: { Authorization: `Token ${key}` } });

function must(holds: boolean, otherwise: unknown): void {
  if (!holds) throw new Error(JSON.stringify(otherwise));
}

function answered<T>(answer: { data?: T; error?: unknown; response: Response }): T {
  must(answer.data !== undefined, answer.error ?? answer.response.status);
  return answer.data as T;
}

const design = answered(
  await bench.POST("/api/v1/designs/", {
    body: {
      name: "Ruff chime",
      revision: "T",
      positions: [
        { ref: "R1", kind: "resistor", value: "4k7", tolerance_percent: "5", watts: "0.25", lead_style: "axial" },
        { ref: "D1", kind: "diode", number: "1N4148" },
      ],
    },
  }),
);
const tray = answered(await bench.POST("/api/v1/places/", { body: { name: "TypeScript tray", type: "tray" } }));
const donor = answered(
  await bench.POST("/api/v1/boards/", {
    body: { name: "Ruff, drowned", design: design.id, purpose: "donor", survey: true },
  }),
);
const mended = answered(
  await bench.POST("/api/v1/boards/", { body: { name: "Ruff, silent", design: design.id, purpose: "under_repair" } }),
);
answered(
  await bench.POST("/api/v1/movements/", {
    body: { kind: "lift", board: donor.id, refs: ["R1", "D1"], to: tray.id, condition: "untested" },
  }),
);
const job = answered(
  await bench.POST("/api/v1/jobs/", { body: { name: "Ruff rebuild", board: mended.id, refs: "all" } }),
);
must(job.needed === 2, job);
const path = { id: job.id };
const promised = answered(await bench.POST("/api/v1/jobs/{id}/reserve/", { params: { path } }));
must(promised.promised.length === 2 && promised.short.length === 0, promised);
for (const each of promised.promised) {
  answered(await bench.POST("/api/v1/movements/", { body: { kind: "fit", reservation: each.id } }));
}
const done = answered(
  await bench.PATCH("/api/v1/jobs/{id}/", {
    params: { path },
    body: { status: "done", symptom: "no chime", cause: "the resistor was corroded through" },
  }),
);
must(done.status === "done" && done.fitted === 2, done);
const lot = promised.promised.find((each) => each.need_ref === "R1")!.lot;
const trace = answered(await bench.GET("/api/v1/lots/{id}/trace/", { params: { path: { id: lot } } }));
must(/Ruff, drowned/.test(JSON.stringify(trace)) && /Ruff, silent/.test(JSON.stringify(trace)), trace);
const refused = await bench.POST("/api/v1/places/", { body: { name: "TypeScript tray", type: "tray" } });
must(refused.error !== undefined && refused.error.status >= 400, refused);
