// The map of an order: its patches among the site's others, the meeting point and the own position.

import { area, distance, t } from "../core/i18n.js";
import { state } from "../core/state.js";
import { actions, h, link, notice, pageHead, section } from "../core/ui.js";
import { nextOf, wind } from "../parts/map_geometry.js";
import { followPlace } from "../parts/map_place.js";
import { ownShapes, shapesOf } from "../parts/map_shapes.js";
import { mapView } from "../parts/map_view.js";
import { orderKept } from "../parts/work_kept.js";
import { orderLinks, orderName, orderPath } from "../parts/work_links.js";
import { methodName } from "../parts/work_words.js";

function wayWords(shapes, point) {
  const found = nextOf(shapes, point);
  if (!found) return t("map.no_patches");
  const code = found.item.row.patch_code;
  if (found.meters < 1) return t("map.inside", { code });
  return t("map.way", { code, distance: distance(found.meters), wind: t(`map.wind.${wind(found.degrees)}`) });
}

function legend(shapes) {
  const kinds = ["boundary", "mine", "other", "done", "meeting"].filter((kind) => shapes.some((shape) => shape.kind === kind));
  return h("ul", { class: "map-legend" }, kinds.map((kind) => h("li", { class: `map-key-${kind}` }, t(`map.legend.${kind}`))));
}

function patchList(order) {
  const line = (row) => [row.patch_code, row.patch_name, methodName(row.method), row.infested_area_m2 ? area(row.infested_area_m2) : ""];
  return h("ul", { class: "plain" }, order.work.map((row) => h("li", {}, line(row).filter(Boolean).join(" · "))));
}

export async function render(root, { id }) {
  const order = state.orders.get(id);
  if (!order) return void root.replaceChildren(pageHead(t("order.unknown"), "/"));
  const site = state.sites.get(order.site);
  const own = ownShapes(order);
  const shapes = shapesOf(order, site, await orderKept(id));
  const map = mapView({ shapes, name: t("map.of", { site: site?.name ?? "" }), fit: own.map((one) => one.geometry), tileUrl: state.policy.tile_url });
  const told = h("p", { class: "way-words", role: "status" }, t("map.looking"));
  root.replaceChildren(
    pageHead(orderName(order, site), orderPath(order)),
    orderLinks(order, "/map"),
    ...(shapes.length ? [told, map.element, legend(shapes)] : [notice(t("map.nothing"), "trouble")]),
    section(t("today.patches"), patchList(order)),
    actions(link(t("work.open"), orderPath(order, "/work"), { main: true })),
  );
  followPlace(map.element, (place) => {
    map.place(place);
    const words = place.point ? `${wayWords(own, place.point)} ${t("map.accuracy", { distance: distance(place.accuracy_m) })}` : t(`map.place_${place.trouble || "none"}`);
    if (told.textContent !== words) told.textContent = words;
  });
  return undefined;
}
