// Plane geometry around one place. Longitude and latitude are scaled by the radii of the WGS 84 ellipsoid at the middle
// of what is measured: for a site of some kilometers the error is far below one part in a thousand.

const SEMI_MAJOR_M = 6378137;
const ECCENTRICITY_SQUARED = 0.00669437999014;
const RADIANS = Math.PI / 180;
const WINDS = ["n", "ne", "e", "se", "s", "sw", "w", "nw"];

/** Meters of one degree of longitude and of latitude at a latitude. */
export function degreeM(lat) {
  const sine = Math.sin(lat * RADIANS);
  const bend = 1 - ECCENTRICITY_SQUARED * sine * sine;
  return {
    lon: (SEMI_MAJOR_M / Math.sqrt(bend)) * Math.cos(lat * RADIANS) * RADIANS,
    lat: ((SEMI_MAJOR_M * (1 - ECCENTRICITY_SQUARED)) / bend ** 1.5) * RADIANS,
  };
}

export function middle(points) {
  const box = boundsOf(points);
  return box && [(box.west + box.east) / 2, (box.south + box.north) / 2];
}

export function boundsOf(points) {
  if (!points.length) return null;
  const lons = points.map((point) => point[0]);
  const lats = points.map((point) => point[1]);
  return { west: Math.min(...lons), east: Math.max(...lons), south: Math.min(...lats), north: Math.max(...lats) };
}

export function distanceM(from, to) {
  const scale = degreeM((from[1] + to[1]) / 2);
  return Math.hypot((to[0] - from[0]) * scale.lon, (to[1] - from[1]) * scale.lat);
}

/** Degrees from north, clockwise. */
export function bearingDeg(from, to) {
  const scale = degreeM((from[1] + to[1]) / 2);
  const degrees = Math.atan2((to[0] - from[0]) * scale.lon, (to[1] - from[1]) * scale.lat) / RADIANS;
  return (degrees + 360) % 360;
}

/** One of eight winds: n, ne, e, … */
export function wind(degrees) {
  return WINDS[Math.round(degrees / 45) % 8];
}

function ringAreaM2(ring) {
  const scale = degreeM(middle(ring)[1]);
  const [lon0, lat0] = ring[0];
  const plane = ring.map(([lon, lat]) => [(lon - lon0) * scale.lon, (lat - lat0) * scale.lat]);
  const twice = plane.reduce((sum, [x, y], i) => {
    const [nextX, nextY] = plane[(i + 1) % plane.length];
    return sum + x * nextY - nextX * y;
  }, 0);
  return Math.abs(twice) / 2;
}

/** Area of a GeoJSON polygon or multipolygon; holes are taken out. */
export function areaM2(geometry) {
  return polygonsOf(geometry).reduce(
    (sum, [outer, ...holes]) => sum + ringAreaM2(outer) - holes.reduce((held, hole) => held + ringAreaM2(hole), 0),
    0,
  );
}

export function polygonsOf(geometry) {
  if (geometry?.type === "Polygon") return [geometry.coordinates];
  if (geometry?.type === "MultiPolygon") return geometry.coordinates;
  return [];
}

export function pointsOf(geometry) {
  if (geometry?.type === "Point") return [geometry.coordinates];
  return polygonsOf(geometry).flat(2);
}

export function polygonOf(points) {
  return { type: "Polygon", coordinates: [[...points, points[0]]] };
}

function isInRing(ring, [x, y]) {
  let inside = false;
  for (let i = 0, j = ring.length - 1; i < ring.length; j = i, i += 1) {
    const [xi, yi] = ring[i];
    const [xj, yj] = ring[j];
    if (yi > y !== yj > y && x < ((xj - xi) * (y - yi)) / (yj - yi) + xi) inside = !inside;
  }
  return inside;
}

export function isInside(geometry, point) {
  return polygonsOf(geometry).some(
    ([outer, ...holes]) => isInRing(outer, point) && !holes.some((hole) => isInRing(hole, point)),
  );
}

function nearestOnSegment(a, b, point) {
  const scale = degreeM(point[1]);
  const flat = ([lon, lat]) => [(lon - point[0]) * scale.lon, (lat - point[1]) * scale.lat];
  const [ax, ay] = flat(a);
  const [bx, by] = flat(b);
  const length = (bx - ax) ** 2 + (by - ay) ** 2;
  const share = length ? Math.min(1, Math.max(0, -(ax * (bx - ax) + ay * (by - ay)) / length)) : 0;
  return [a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share];
}

/** The way from a point to a shape: meters and bearing to its nearest edge, 0 m where the point is inside. */
export function wayTo(geometry, point) {
  if (geometry.type === "Point") return way(point, geometry.coordinates);
  if (isInside(geometry, point)) return { meters: 0, degrees: 0 };
  const edges = polygonsOf(geometry)
    .flat()
    .flatMap((ring) => ring.slice(1).map((corner, i) => nearestOnSegment(ring[i], corner, point)));
  const ways = edges.map((edge) => way(point, edge));
  return ways.reduce((best, other) => (other.meters < best.meters ? other : best), { meters: Infinity, degrees: 0 });
}

function way(from, to) {
  return { meters: distanceM(from, to), degrees: bearingDeg(from, to) };
}

/** The next of a list of shapes: `{item, meters, degrees}`, or null. */
export function nextOf(items, point) {
  const ways = items.map((item) => ({ item, ...wayTo(item.geometry, point) }));
  return ways.reduce((best, other) => (!best || other.meters < best.meters ? other : best), null);
}

function degreesAndMinutes(value, positive, negative) {
  const thousandths = Math.round(Math.abs(value) * 60000);
  const minutes = ((thousandths % 60000) / 1000).toFixed(3).padStart(6, "0");
  return `${Math.floor(thousandths / 60000)}° ${minutes}′ ${value < 0 ? negative : positive}`;
}

/** A place as people read it out: decimal degrees, and degrees with decimal minutes. */
export function spoken([lon, lat]) {
  return {
    decimal: `${lat.toFixed(5)}, ${lon.toFixed(5)}`,
    minutes: `${degreesAndMinutes(lat, "N", "S")}  ${degreesAndMinutes(lon, "E", "W")}`,
  };
}
