// Areas on the WGS 84 ellipsoid and outlines that cross themselves, told while one draws. The server's word counts; a
// browser test holds both to the same figures.

const FLATTENING = 1 / 298.257223563; // WGS 84
const SQUARED = FLATTENING * (2 - FLATTENING); // of the eccentricity
const ECCENTRICITY = Math.sqrt(SQUARED);
const AUTHALIC_M = 6371007.1809; // radius of the sphere of the same surface
const RADIAN = Math.PI / 180;
export const M2_AN_ACRE = 4046.8564224; // international acre

function bulge(sine) {
  const stretched = ECCENTRICITY * sine;
  return (1 - SQUARED) * (sine / (1 - stretched * stretched) + Math.atanh(stretched) / ECCENTRICITY);
}

const AT_POLE = bulge(1);
const authalicSine = (latitude) => bulge(Math.sin(latitude * RADIAN)) / AT_POLE;

/** Area of a ring: exact between meridians and parallels, and within 0.1% for edges of some miles. */
function ringM2(corners) {
  if (corners.length < 3) return 0;
  const [first] = corners;
  const placed = corners.map(([east, north]) => [(east - first[0]) * RADIAN, authalicSine(north) - authalicSine(first[1])]);
  const sum = placed.reduce((total, [x, y], index) => {
    const [nextX, nextY] = placed[(index + 1) % placed.length];
    return total + ((nextX - x) * (y + nextY)) / 2;
  }, 0);
  return Math.abs(sum) * AUTHALIC_M * AUTHALIC_M;
}

/** Area of the parts in m², their holes taken out. */
export function areaM2(parts) {
  return parts.reduce((total, [outside, ...holes]) => {
    return total + ringM2(outside) - holes.reduce((cut, hole) => cut + ringM2(hole), 0);
  }, 0);
}

/** Length of a line in meters, near enough to be told (a sphere). */
export function lengthM(corners) {
  return corners.slice(1).reduce((total, [east, north], index) => {
    const [west, south] = corners[index];
    const x = (east - west) * RADIAN * Math.cos(((north + south) / 2) * RADIAN);
    return total + Math.hypot(x, (north - south) * RADIAN) * AUTHALIC_M;
  }, 0);
}

function edges(rings, isClosed) {
  const found = [];
  rings.forEach((corners, ring) => {
    const count = isClosed ? corners.length : corners.length - 1;
    for (let index = 0; index < count; index += 1) {
      const one = corners[index], other = corners[(index + 1) % corners.length];
      found.push({ ring, index, count, one, other, west: Math.min(one[0], other[0]), east: Math.max(one[0], other[0]) });
    }
  });
  return found.sort((a, b) => a.west - b.west);
}

const side = (a, b, c) => Math.sign((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]));
const between = (a, b, c) =>
  Math.min(a[0], b[0]) <= c[0] && c[0] <= Math.max(a[0], b[0]) && Math.min(a[1], b[1]) <= c[1] && c[1] <= Math.max(a[1], b[1]);

function neighbors(a, b) {
  return a.ring === b.ring && ((a.index + 1) % a.count === b.index || (b.index + 1) % b.count === a.index);
}

function cross(a, b) {
  const sides = [side(a.one, a.other, b.one), side(a.one, a.other, b.other), side(b.one, b.other, a.one), side(b.one, b.other, a.other)];
  if (sides[0] * sides[1] < 0 && sides[2] * sides[3] < 0) return true;
  if (a.ring !== b.ring) return false;
  return (sides[0] === 0 && between(a.one, a.other, b.one)) || (sides[1] === 0 && between(a.one, a.other, b.other))
    || (sides[2] === 0 && between(b.one, b.other, a.one)) || (sides[3] === 0 && between(b.one, b.other, a.other));
}

/** Two edges that cross or touch where they should not, as a place near them; null where there are none. */
export function crossing(parts, isClosed) {
  let open = [];
  for (const edge of edges(parts.flat(), isClosed)) {
    open = open.filter((other) => other.east >= edge.west);
    const met = open.find((other) => !neighbors(edge, other) && cross(edge, other));
    if (met) return edge.one;
    open.push(edge);
  }
  return null;
}
