// The shapes of an order's map: the site, its other patches, the order's own patches, the meeting point, what was drawn.

import { t } from "../core/i18n.js";

export function shapesOf(order, site, kept) {
  const own = new Set(order?.work.map((row) => row.patch));
  const others = (site?.patches ?? []).filter((patch) => !own.has(patch.id) && patch.geometry);
  const plan = site?.emergency ?? {};
  const isMet = plan.meeting_lon !== null && plan.meeting_lon !== undefined;
  return [
    ...(site?.boundary ? [{ kind: "boundary", geometry: site.boundary, label: "" }] : []),
    ...others.map((patch) => ({ kind: "other", geometry: patch.geometry, label: patch.code })),
    ...ownShapes(order).map(({ row, geometry }) => ({ kind: "mine", geometry, label: row.patch_code })),
    ...Object.values(kept?.progress ?? {}).filter((one) => one.drawn).map((one) => ({ kind: "done", geometry: one.drawn, label: "" })),
    ...(isMet ? [{ kind: "meeting", geometry: { type: "Point", coordinates: [plan.meeting_lon, plan.meeting_lat] }, label: t("map.meeting") }] : []),
  ];
}

export function ownShapes(order) {
  return (order?.work ?? []).filter((row) => row.geometry).map((row) => ({ row, geometry: row.geometry }));
}
