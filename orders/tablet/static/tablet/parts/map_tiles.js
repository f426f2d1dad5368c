// Pictures under the map from a tile server of the program's own choosing; without one the map stands by itself.

import { svg } from "./map_marks.js";

const TILE_PX = 256;
const EQUATOR_M = 40_075_016.686;
const TOP = 19;
const RADIANS = Math.PI / 180;

const column = (lon, count) => ((lon + 180) / 360) * count;
const row = (lat, count) => ((1 - Math.asinh(Math.tan(lat * RADIANS)) / Math.PI) / 2) * count;
const lonOf = (x, count) => (x / count) * 360 - 180;
const latOf = (y, count) => Math.atan(Math.sinh(Math.PI * (1 - (2 * y) / count))) / RADIANS;

/** The tiles of a view: `corner` its north-west and `far` its south-east, as [lon, lat]. */
export function tiles({ address, corner, far, metersPerPx, project }) {
  const here = EQUATOR_M * Math.cos(corner[1] * RADIANS);
  const zoom = Math.max(0, Math.min(TOP, Math.round(Math.log2(here / TILE_PX / metersPerPx))));
  const count = 2 ** zoom;
  const found = [];
  for (let x = Math.floor(column(corner[0], count)); x <= column(far[0], count); x += 1) {
    for (let y = Math.floor(row(corner[1], count)); y <= row(far[1], count); y += 1) {
      const [left, top] = project([lonOf(x, count), latOf(y, count)]);
      const [right, bottom] = project([lonOf(x + 1, count), latOf(y + 1, count)]);
      const href = address.replace("{z}", zoom).replace("{x}", x).replace("{y}", y);
      found.push(svg("image", { href, x: left, y: top, width: right - left + 0.5, height: bottom - top + 0.5 }));
    }
  }
  return found;
}
