// How a class looks: fill, hatching and the shape of its mark, as in the legend (map_swatch.html). Colors of tokens.css.

import { color } from "../map/ground.js";

const HATCH_PX = 8;
export const MARK_PX = 5;

/** Lines of one tile of hatching, by look; a look without has none. */
const HATCHES = {
  2: [[2, 2, 3.2, 2], [6, 6, 7.2, 6]],
  3: [[0, 8, 8, 0], [-2, 2, 2, -2], [6, 10, 10, 6]],
  5: [[0, 0, 8, 8], [-2, 6, 2, 10], [6, -2, 10, 2]],
  6: [[0, 8, 8, 0], [0, 0, 8, 8]],
  7: [[0, 4, 8, 4]],
};

/** Corners of a mark's shape, or the radius of a round one. */
const SQUARE = [[-4.5, -4.5], [4.5, -4.5], [4.5, 4.5], [-4.5, 4.5]];
const PLUS = [[-2, -6], [2, -6], [2, -2], [6, -2], [6, 2], [2, 2], [2, 6], [-2, 6], [-2, 2], [-6, 2], [-6, -2], [-2, -2]];
const SHAPES = {
  0: MARK_PX - 1.5,
  1: MARK_PX,
  2: SQUARE,
  3: [[0, -6], [6, 5], [-6, 5]],
  4: [[0, -6.5], [6.5, 0], [0, 6.5], [-6.5, 0]],
  5: [[-6, -5], [6, -5], [0, 6]],
  6: PLUS,
  7: SQUARE.map(([x, y]) => [0.85 * x, 0.85 * y]),
};

/** Adds a mark to a path; `times` is its size, 1 as in the legend. */
export function mark(path, shape, x, y, times) {
  if (typeof shape === "number") {
    path.moveTo(x + shape * times, y);
    path.arc(x, y, shape * times, 0, 2 * Math.PI);
    return;
  }
  shape.forEach(([right, down], at) => {
    if (at) path.lineTo(x + right * times, y + down * times);
    else path.moveTo(x + right * times, y + down * times);
  });
  path.closePath();
}

function hatching(look, ink, scale) {
  if (!HATCHES[look]) return null;
  const tile = document.createElement("canvas");
  tile.width = tile.height = HATCH_PX * scale;
  const draw = tile.getContext("2d");
  draw.scale(scale, scale);
  draw.strokeStyle = ink;
  draw.lineWidth = 1.1;
  draw.beginPath();
  for (const [x, y, toX, toY] of HATCHES[look]) {
    draw.moveTo(x, y);
    draw.lineTo(toX, toY);
  }
  draw.stroke();
  const pattern = draw.createPattern(tile, "repeat");
  pattern.setTransform(new DOMMatrix().scale(1 / scale));
  return pattern;
}

/** All looks in the colors of now; `scale` is of the screen's pixels. */
export function looks(scale) {
  const plain = color("paper");
  return [0, 1, 2, 3, 4, 5, 6, 7].map((look) => {
    const fill = look === 0 || look === 7 ? plain : color(`map-${look}`);
    const ink = look === 7 ? color("map-edge") : color(look > 4 ? "map-over-high" : "map-over-low");
    return { fill, over: hatching(look, ink, scale), edge: color("map-edge"), shape: SHAPES[look] };
  });
}
