// A point or an outline, made by tapping: nothing has to be dragged.

import { areaM2, polygonOf } from "./map_geometry.js";

const CORNERS = 3;

/** `points` are [lon, lat]; `changed()` is called after each change. */
export function drawing({ points = [], changed = () => {} } = {}) {
  let corners = [...points];
  const put = (next) => {
    corners = next;
    changed();
  };
  return {
    add: (point) => put([...corners, point]),
    undo: () => put(corners.slice(0, -1)),
    clear: () => put([]),
    get points() {
      return corners;
    },
    get isOutline() {
      return corners.length >= CORNERS;
    },
    /** What there is so far: an outline from three corners on, before that a single point, or nothing. */
    get geometry() {
      if (corners.length >= CORNERS) return polygonOf(corners);
      return corners.length ? { type: "Point", coordinates: corners[0] } : null;
    },
    get areaM2() {
      return corners.length >= CORNERS ? areaM2(polygonOf(corners)) : 0;
    },
  };
}
