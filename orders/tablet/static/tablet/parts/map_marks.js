// The pieces of the drawn map, as SVG. Each kind of shape differs in pattern and label, never in color alone.

const SPACE = "http://www.w3.org/2000/svg";
const DOT_PX = 9;
const [LETTER_PX, LINE_PX] = [11, 20];
const NICE = [1, 2, 5];
const FEET_PER_M = 3.28084;
const FEET_PER_MILE = 5280;

export function svg(tag, attributes = {}, ...children) {
  const element = document.createElementNS(SPACE, tag);
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, String(value));
  element.append(...children.filter((child) => child !== null));
  return element;
}

export function defs() {
  const size = { patternUnits: "userSpaceOnUse", width: 10, height: 10 };
  const hatch = (id, turn) =>
    svg("pattern", { id, ...size, patternTransform: `rotate(${turn})` }, svg("line", { x1: 0, y1: 0, x2: 0, y2: 10, class: `map-${id}` }));
  const dots = svg("pattern", { id: "dots", ...size }, svg("circle", { cx: 5, cy: 5, r: 1.8, class: "map-dots" }));
  return svg("defs", {}, hatch("hatch", 45), hatch("done-hatch", -45), dots);
}

const ring = (points) => `M${points.map(([x, y]) => `${x.toFixed(1)},${y.toFixed(1)}`).join("L")}Z`;

/** `rings` are pixels. */
export function area(kind, rings) {
  return svg("path", { class: `map-${kind}`, d: rings.map(ring).join(""), "fill-rule": "evenodd" });
}

export function dot(kind, [x, y]) {
  if (kind !== "meeting") return svg("circle", { class: `map-${kind}-dot`, cx: x, cy: y, r: DOT_PX });
  return svg("path", { class: "map-meeting-dot", d: `M${x},${y}l-11,-22h22z` });
}

export function label(kind, [x, y], text) {
  return svg("text", { class: `map-label map-${kind}-label`, x, y, "text-anchor": "middle" }, text);
}

/** Names where there is room: those of the order's own patches always, others only where they hide no name. */
export function labels(names) {
  const isFirst = ({ kind }) => kind !== "other";
  const taken = [];
  const fits = (name) => {
    const [x, y] = name.place;
    const box = { left: x - (name.label.length * LETTER_PX) / 2, right: x + (name.label.length * LETTER_PX) / 2, y };
    const hides = (one) => box.left < one.right && one.left < box.right && Math.abs(box.y - one.y) < LINE_PX;
    if (!isFirst(name) && taken.some(hides)) return false;
    return taken.push(box) > 0;
  };
  const inOrder = [...names].sort((a, b) => Number(isFirst(b)) - Number(isFirst(a)));
  return inOrder.filter(fits).map(({ kind, place, label: text }) => label(kind, place, text));
}

export function own([x, y], radiusPx) {
  const around = svg("circle", { class: "map-own-around", cx: x, cy: y, r: Math.max(radiusPx, DOT_PX) });
  return svg("g", {}, around, svg("circle", { class: "map-own", cx: x, cy: y, r: DOT_PX }));
}

export function outline(points) {
  const line = svg("polygon", { class: "map-drawn", points: points.map((point) => point.join(",")).join(" ") });
  const dots = points.map(([x, y], i) => svg("g", {}, dot("drawn", [x, y]), label("drawn", [x, y - 14], String(i + 1))));
  return svg("g", {}, line, ...dots);
}

export function crosshair(width, height) {
  const [x, y] = [width / 2, height / 2];
  return svg("path", { class: "map-cross", d: `M${x - 24},${y}h18m12,0h18M${x},${y - 24}v18m0,12v18` });
}

/** A round length that fits into `widthPx`: its pixels, and the length in the unit that is shown. */
export function scaleOf(metersPerPx, widthPx, isUS) {
  const unit = unitFor(metersPerPx * widthPx, isUS);
  const most = (metersPerPx * widthPx) / unit.meters;
  const power = 10 ** Math.floor(Math.log10(most));
  const length = NICE.map((step) => step * power).filter((step) => step <= most).at(-1);
  return { px: (length * unit.meters) / metersPerPx, length, unit: unit.code };
}

function unitFor(meters, isUS) {
  if (!isUS) return meters > 2000 ? { code: "km", meters: 1000 } : { code: "m", meters: 1 };
  const feet = meters * FEET_PER_M;
  return feet > FEET_PER_MILE ? { code: "mi", meters: FEET_PER_MILE / FEET_PER_M } : { code: "ft", meters: 1 / FEET_PER_M };
}

export function scaleBar({ px, text }, height) {
  const y = height - 16;
  const line = svg("path", { class: "map-scale", d: `M16,${y - 8}v8h${px.toFixed(1)}v-8` });
  return svg("g", {}, line, svg("text", { class: "map-label", x: 22, y: y - 6 }, text));
}

export function north(width, letter) {
  const mark = svg("path", { class: "map-north", d: `M${width - 28},16l10,26l-10,-6l-10,6z` });
  return svg("g", {}, mark, svg("text", { class: "map-label", x: width - 28, y: 60, "text-anchor": "middle" }, letter));
}
