// What the server tells of the patches, read into flat arrays. Places are in pixels of the whole earth at zoom 0
// (spherical Mercator, as Leaflet has it): times 2 to the zoom they are pixels there.

const EARTH_PX = 256;

function across(lon) {
  return ((lon + 180) / 360) * EARTH_PX;
}

function down(lat) {
  return ((1 - Math.asinh(Math.tan((lat * Math.PI) / 180)) / Math.PI) / 2) * EARTH_PX;
}

function summed(steps) {
  let sum = 0;
  return steps.map((step) => (sum += step));
}

/** The answer of map/patches.json as a table of columns. */
export function read(said) {
  const per = said.steps_per_degree;
  const west = summed(said.west);
  const south = summed(said.south);
  const count = west.length;
  const table = {
    count,
    by: said.by,
    words: said.words,
    classes: said.classes,
    n: summed(said.n),
    x: new Float64Array(count),
    y: new Float64Array(count),
    size: new Float64Array(count),
    at: Uint8Array.from(said.class),
    name: (row) => `${said.sites[said.site[row]]} ${said.code[row]}`,
    told: (row) => said.told_words[said.told[row]],
    box: (row) => [west[row] / per, south[row] / per, (west[row] + said.width[row]) / per, (south[row] + said.height[row]) / per],
  };
  for (let row = 0; row < count; row += 1) {
    const [left, low, right, high] = table.box(row);
    const [x, toX, y, toY] = [across(left), across(right), down(high), down(low)];
    table.x[row] = (x + toX) / 2;
    table.y[row] = (y + toY) / 2;
    table.size[row] = Math.max(toX - x, toY - y);
  }
  table.rowOf = new Map(table.n.map((number, row) => [number, row]));
  return table;
}

/** The answer of map/outlines.json: by the patch's number its rings, each x and y in turn. */
export function readOutlines(said) {
  const per = 2 * 2 ** said.zoom;
  return said.rings.map((rings, at) => [said.n[at], rings.map((ring) => absolute(ring, said.x, said.y, per))]);
}

function absolute(ring, x, y, per) {
  const points = new Float64Array(ring.length);
  for (let at = 0; at < ring.length; at += 2) {
    x += ring[at];
    y += ring[at + 1];
    points[at] = x / per;
    points[at + 1] = y / per;
  }
  return points;
}

/** JSON of an address of this program; null where it was asked again meanwhile. */
export async function ask(address, signal) {
  try {
    const answer = await fetch(address, { signal, headers: { Accept: "application/json" } });
    if (!answer.ok) throw new Error(`The map could not be read (${answer.status}).`);
    return await answer.json();
  } catch (error) {
    if (error.name === "AbortError") return null;
    throw error;
  }
}
