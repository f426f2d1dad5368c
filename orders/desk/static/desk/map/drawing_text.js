// Shapes as text: GeoJSON, which the form sends, and well-known text, which people paste. Longitude first.

const LONGEST = 2_000_000;
const NUMBER = "[-+]?(?:\\d+\\.?\\d*|\\.\\d+)(?:[eE][-+]?\\d+)?";
const PAIR = new RegExp(`(${NUMBER})\\s+(${NUMBER})(?:\\s+${NUMBER}){0,2}`, "g");
const KNOWN_TEXT = /^(?:SRID=4326;)?\s*(POINT|LINESTRING|POLYGON|MULTIPOLYGON)(?:\s*(?:ZM|Z|M))?\s*(\(.*\))\s*$/is;
const TOO_LONG = "This text is too long for one patch.";
const UNREAD = "This is neither GeoJSON nor well-known text of an outline. What was drawn stays as it was.";

const closed = (corners) => (corners.length > 2 ? [...corners, corners[0]] : corners);
const same = (one, other) => one[0] === other[0] && one[1] === other[1];

function flattened(corners) {
  return corners.map(([east, north]) => {
    if (!Number.isFinite(east) || !Number.isFinite(north)) throw new Error(UNREAD);
    return [east, north];
  });
}

function opened(corners) {
  const flat = flattened(corners);
  return flat.length > 1 && same(flat[0], flat.at(-1)) ? flat.slice(0, -1) : flat;
}

/** What the form sends: nothing where nothing is drawn. */
export function toText(parts, kind) {
  if (parts.length === 0) return "";
  if (kind === "line") return JSON.stringify({ type: "LineString", coordinates: parts[0][0] });
  if (parts[0][0].length === 1) return JSON.stringify({ type: "Point", coordinates: parts[0][0][0] });
  const polygons = parts.map((rings) => rings.map(closed));
  const [only] = polygons;
  const told = polygons.length === 1 ? { type: "Polygon", coordinates: only } : { type: "MultiPolygon", coordinates: polygons };
  return JSON.stringify(told);
}

function partsOf({ type, coordinates, geometry, features, geometries }) {
  if (type === "Feature") return partsOf(geometry);
  if (type === "FeatureCollection") return features.flatMap(partsOf);
  if (type === "GeometryCollection") return geometries.flatMap(partsOf);
  if (type === "Point") return [[flattened([coordinates])]];
  if (type === "LineString") return [[flattened(coordinates)]];
  if (type === "Polygon") return [coordinates.map(opened)];
  if (type === "MultiPolygon") return coordinates.map((rings) => rings.map(opened));
  throw new Error(UNREAD);
}

function fromKnownText(text) {
  const found = KNOWN_TEXT.exec(text);
  if (!found) throw new Error(UNREAD);
  const inner = found[2].replace(PAIR, "[$1,$2]").replaceAll("(", "[").replaceAll(")", "]");
  const coordinates = JSON.parse(inner);
  const type = { POINT: "Point", LINESTRING: "LineString", POLYGON: "Polygon", MULTIPOLYGON: "MultiPolygon" }[found[1].toUpperCase()];
  return partsOf({ type, coordinates: type === "Point" ? coordinates[0] : coordinates });
}

/** The parts that a text tells, or an error in words. */
export function fromText(text) {
  const trimmed = text.trim();
  if (!trimmed) return [];
  if (trimmed.length > LONGEST) throw new Error(TOO_LONG);
  try {
    return trimmed.startsWith("{") ? partsOf(JSON.parse(trimmed)) : fromKnownText(trimmed);
  } catch {
    throw new Error(UNREAD);
  }
}
