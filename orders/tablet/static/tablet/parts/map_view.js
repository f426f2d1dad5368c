// The map: our own shapes drawn as SVG, moved and zoomed by buttons or by touch.

import { isUS, number, t } from "../core/i18n.js";
import { h } from "../core/ui.js";
import { boundsOf, degreeM, pointsOf, polygonsOf } from "./map_geometry.js";
import * as marks from "./map_marks.js";
import { tiles } from "./map_tiles.js";
import { touched } from "./map_touch.js";

const MARGIN_PX = 40;
const SCALE_PX = 140;
const STEP = 1.6;
const [FINEST, COARSEST] = [0.02, 2000];

/** `shapes` are {kind, geometry, label}; `onTap` gets [lon, lat]. The map fits itself to `fit`, or to all shapes. */
export function mapView({ shapes, name, fit = null, tileUrl = "", onTap = null }) {
  const view = { center: [0, 0], metersPerPx: 1, width: 320, height: 320 };
  const picture = marks.svg("svg", { role: "img", "aria-label": name, class: "map-picture" });
  let [mine, drawn, isAsked, isMoved] = [null, null, false, false];

  function project([lon, lat]) {
    const scale = degreeM(view.center[1]);
    const x = ((lon - view.center[0]) * scale.lon) / view.metersPerPx + view.width / 2;
    return [x, view.height / 2 - ((lat - view.center[1]) * scale.lat) / view.metersPerPx];
  }

  function lonLat([x, y]) {
    const scale = degreeM(view.center[1]);
    const lon = view.center[0] + ((x - view.width / 2) * view.metersPerPx) / scale.lon;
    return [lon, view.center[1] - ((y - view.height / 2) * view.metersPerPx) / scale.lat];
  }

  function shape({ kind, geometry, label }) {
    const points = pointsOf(geometry).map(project);
    if (!points.length) return { drawnShape: null, name: null };
    const box = boundsOf(points);
    const center = [(box.west + box.east) / 2, (box.south + box.north) / 2 + 5];
    const rings = polygonsOf(geometry).flat().map((one) => one.map(project));
    const drawnShape = rings.length ? marks.area(kind, rings) : marks.dot(kind, points[0]);
    const place = rings.length ? center : [points[0][0], points[0][1] + 26];
    return { drawnShape, name: label ? { kind, place, label } : null };
  }

  function draw() {
    isAsked = false;
    picture.setAttribute("viewBox", `0 0 ${view.width} ${view.height}`);
    const under = { address: tileUrl, corner: lonLat([0, 0]), far: lonLat([view.width, view.height]), project };
    const scale = marks.scaleOf(view.metersPerPx, SCALE_PX, isUS());
    const bar = { px: scale.px, text: t(`map.${scale.unit}`, { n: number(scale.length, 2) }) };
    const made = shapes.map(shape);
    const parts = [
      marks.defs(),
      ...(tileUrl ? tiles({ ...under, metersPerPx: view.metersPerPx }) : []),
      ...made.map((one) => one.drawnShape),
      ...marks.labels(made.map((one) => one.name).filter(Boolean)),
      drawn?.length ? marks.outline(drawn.map(project)) : null,
      mine ? marks.own(project(mine.point), mine.accuracy_m / view.metersPerPx) : null,
      drawn ? marks.crosshair(view.width, view.height) : null,
      marks.scaleBar(bar, view.height),
      marks.north(view.width, t("map.n")),
    ];
    picture.replaceChildren(...parts.filter(Boolean));
  }

  function drawSoon() {
    if (!isAsked) requestAnimationFrame(draw);
    isAsked = true;
  }

  /** From now on the view is the person's own: turning the tablet keeps it. */
  function moved() {
    isMoved = true;
    drawSoon();
  }

  function zoom(factor, x = view.width / 2, y = view.height / 2) {
    const before = lonLat([x, y]);
    view.metersPerPx = Math.min(COARSEST, Math.max(FINEST, view.metersPerPx / factor));
    const after = lonLat([x, y]);
    view.center = [view.center[0] + before[0] - after[0], view.center[1] + before[1] - after[1]];
    moved();
  }

  function move(dx, dy) {
    view.center = lonLat([view.width / 2 - dx, view.height / 2 - dy]);
    moved();
  }

  function fitTo(geometries) {
    const box = boundsOf(geometries.flatMap(pointsOf));
    if (!box) return;
    view.center = [(box.west + box.east) / 2, (box.south + box.north) / 2];
    const scale = degreeM(view.center[1]);
    const across = ((box.east - box.west) * scale.lon) / Math.max(1, view.width - 2 * MARGIN_PX);
    const down = ((box.north - box.south) * scale.lat) / Math.max(1, view.height - 2 * MARGIN_PX);
    view.metersPerPx = Math.min(COARSEST, Math.max(FINEST * 10, across, down));
    drawSoon();
  }

  const whole = () => fitTo(shapes.map((one) => one.geometry));
  const element = h("div", { class: "map" }, picture, buttons({ zoom, move, whole, view, toMine }));

  function toMine() {
    if (mine) view.center = mine.point;
    moved();
  }

  const first = () => fitTo(fit ?? shapes.map((one) => one.geometry));
  new ResizeObserver(() => {
    [view.width, view.height] = [picture.clientWidth || 320, picture.clientHeight || 320];
    if (!isMoved) first();
    drawSoon();
  }).observe(picture);
  touched(picture, { moved: move, zoomed: zoom, tapped: (x, y) => onTap?.(lonLat([x, y])) });

  return {
    element,
    center: () => view.center,
    place(found) {
      mine = found?.point ? found : null;
      drawSoon();
    },
    /** Corners of what is being drawn; null where nothing is. */
    outline(points) {
      drawn = points;
      drawSoon();
    },
  };
}

function buttons({ zoom, move, whole, view, toMine }) {
  const one = (word, sign, act) => h("button", { type: "button", "aria-label": t(word), title: t(word), onclick: act }, sign);
  const by = (across, down) => () => move((across * view.width) / 4, (down * view.height) / 4);
  return h(
    "div",
    { class: "map-buttons", role: "group", "aria-label": t("map.buttons") },
    one("map.closer", "+", () => zoom(STEP)),
    one("map.wider", "−", () => zoom(1 / STEP)),
    one("map.whole", "⤢", whole),
    one("map.to_me", "◎", toMine),
    one("map.left", "←", by(1, 0)),
    one("map.up", "↑", by(0, 1)),
    one("map.down", "↓", by(0, -1)),
    one("map.right", "→", by(-1, 0)),
  );
}
