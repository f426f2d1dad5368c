// A map on which an outline is tapped: a tap adds a corner, and so do the crosshair and the own position.

import { area, t, tn } from "../core/i18n.js";
import { button, h } from "../core/ui.js";
import { drawing } from "./draw.js";
import { followPlace } from "./map_place.js";
import { mapView } from "./map_view.js";

/** `onDone` gets the geometry and its area once somebody is content; `isPointEnough`: one corner is an answer, too. */
export function drawMap({ shapes, fit, tileUrl, name, points = [], isPointEnough = false, doneWords = t("map.done"), onChange = () => {}, onDone }) {
  let here = null;
  const told = h("p", { role: "status", class: "drawn-words" });
  const made = drawing({ points, changed: () => { show(); onChange(made.points); } });
  const map = mapView({ shapes, name, fit, tileUrl, onTap: made.add });
  const undo = button(t("map.undo"), made.undo);
  const atMine = button(t("map.add_mine"), () => here && made.add(here));
  const done = button(doneWords, () => onDone(made.geometry, made.areaM2), { main: true });
  function show() {
    map.outline(made.points);
    undo.disabled = !made.points.length;
    done.disabled = !(made.isOutline || (isPointEnough && made.points.length));
    told.textContent = made.isOutline ? t("map.drawn_area", { area: area(made.areaM2) }) : tn("map.corners", made.points.length);
  }
  followPlace(map.element, (place) => {
    here = place.point;
    atMine.disabled = !here;
    map.place(place);
  });
  atMine.disabled = !here;
  show();
  const row = h("div", { class: "row" }, button(t("map.add_cross"), () => made.add(map.center())), atMine, undo, done);
  return h("div", { class: "draw-map" }, map.element, told, row);
}
