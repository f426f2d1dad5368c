// The patches on one canvas: each class is one path for its marks and one for its outlines, so that ten thousand take a
// few milliseconds. It is a renderer of Leaflet, which moves and scales it while the map moves and zooms.

import { color, whenColorsTurn } from "../map/ground.js";
import { looks, mark, MARK_PX } from "./map_looks.js";
import { outline, within } from "./map_rings.js";

const L = window.L;
const LEAST_OUTLINE_PX = 9;
const NEAR_PX = 14;
// Marks grow with the zoom, so that a whole program seen at once is no blot.
const [LEAST_TIMES, FULL_MARKS_ZOOM] = [0.55, 13];

export const Picture = L.Renderer.extend({
  options: { padding: 0.35 },

  initialize(options) {
    L.Renderer.prototype.initialize.call(this, options);
    this.outlines = new Map();
    this.hidden = new Set();
    this.marked = new Set();
  },

  onAdd(map) {
    L.Renderer.prototype.onAdd.call(this, map);
    map.on("move", this._keepUp, this);
    whenColorsTurn(() => this.redraw(true));
  },

  redraw(anew = false) {
    if (anew) this._looks = null;
    if (this._map) this._draw();
  },

  /** The row that is drawn nearest to a point of the container, or -1. */
  rowAt(point) {
    const { table } = this;
    if (!table) return -1;
    const scale = 2 ** this._map.getZoom();
    const at = this._map.containerPointToLayerPoint(point).add(this._map.getPixelOrigin()).divideBy(scale);
    const [near, least] = [NEAR_PX / scale, LEAST_OUTLINE_PX / scale];
    let [best, distance] = [-1, Infinity];
    for (let row = 0; row < table.count; row += 1) {
      if (this.hidden.has(table.at[row])) continue;
      const away = Math.hypot(table.x[row] - at.x, table.y[row] - at.y);
      if (away > Math.max(near, table.size[row])) continue;
      const rings = table.size[row] > least && this.outlines.get(table.n[row]);
      const is_in = rings ? within(rings, at) : away < near;
      if (is_in && away < distance) [best, distance] = [row, away];
    }
    return best;
  },

  /** Rows that are shown with their middle in a box of the container. */
  rowsIn(one, other) {
    const { table } = this;
    const scale = 2 ** this._map.getZoom();
    const [from, to] = [L.point(Math.min(one.x, other.x), Math.min(one.y, other.y)), L.point(Math.max(one.x, other.x), Math.max(one.y, other.y))].map(
      (point) => this._map.containerPointToLayerPoint(point).add(this._map.getPixelOrigin()).divideBy(scale),
    );
    const found = [];
    for (let row = 0; row < table.count; row += 1) {
      const [x, y] = [table.x[row], table.y[row]];
      if (x >= from.x && x <= to.x && y >= from.y && y <= to.y && !this.hidden.has(table.at[row])) found.push(row);
    }
    return found;
  },

  numbersShown() {
    const { table, hidden } = this;
    return table.n.filter((number, row) => !hidden.has(table.at[row]));
  },

  /** Rows whose middle is on the screen and whose outline would be larger than a mark. */
  outlinesWanted() {
    const size = this._map.getSize();
    const least = LEAST_OUTLINE_PX / 2 ** this._map.getZoom();
    return this.rowsIn(L.point(0, 0), size).filter((row) => this.table.size[row] > least);
  },

  _initContainer() {
    this._container = document.createElement("canvas");
    this._container.setAttribute("aria-hidden", "true");
    this._paint = this._container.getContext("2d");
  },

  _destroyContainer() {
    this._map.off("move", this._keepUp, this);
    L.DomUtil.remove(this._container);
    delete this._paint;
  },

  /** Dragged beyond what is drawn: drawn anew before the edge is seen. */
  _keepUp() {
    const view = this._map.getPixelBounds();
    const origin = this._map.getPixelOrigin();
    const seen = L.bounds(view.min.subtract(origin), view.max.subtract(origin));
    if (!this._map._animatingZoom && this._bounds && !this._bounds.contains(seen)) this._update();
  },

  _update() {
    if (this._map._animatingZoom && this._bounds) return;
    L.Renderer.prototype._update.call(this);
    const size = this._bounds.getSize();
    const scale = window.devicePixelRatio || 1;
    L.DomUtil.setPosition(this._container, this._bounds.min);
    if (this._container.width !== Math.round(scale * size.x)) this._container.width = Math.round(scale * size.x);
    if (this._container.height !== Math.round(scale * size.y)) this._container.height = Math.round(scale * size.y);
    this._container.style.width = `${size.x}px`;
    this._container.style.height = `${size.y}px`;
    this._draw();
    this.fire("update");
  },

  _draw() {
    const paint = this._paint;
    const pixels = window.devicePixelRatio || 1;
    paint.setTransform(1, 0, 0, 1, 0, 0);
    paint.clearRect(0, 0, this._container.width, this._container.height);
    if (!this.table) return;
    this._looks ??= looks(pixels);
    const place = this._place();
    const paths = this.table.classes.map(() => ({ marks: new Path2D(), areas: new Path2D() }));
    const ring = new Path2D();
    for (let row = 0; row < this.table.count; row += 1) this._trace(row, place, paths, ring);
    paint.setTransform(pixels, 0, 0, pixels, 0, 0);
    this.table.classes.forEach((kind, at) => this._fill(paint, paths[at], this._looks[kind.look], place.times));
    this._ring(paint, ring);
  },

  /** From pixels of the earth at zoom 0 to those of the canvas. */
  _place() {
    const corner = this._map.getPixelOrigin().add(this._bounds.min);
    const size = this._bounds.getSize();
    const zoom = this._map.getZoom();
    const times = Math.min(1, Math.max(LEAST_TIMES, zoom / FULL_MARKS_ZOOM - 0.2));
    return { scale: 2 ** zoom, times, x: corner.x, y: corner.y, width: size.x, height: size.y };
  },

  _trace(row, place, paths, ring) {
    const { table } = this;
    if (this.hidden.has(table.at[row])) return;
    const size = table.size[row] * place.scale;
    const x = table.x[row] * place.scale - place.x;
    const y = table.y[row] * place.scale - place.y;
    const reach = size + 2 * MARK_PX;
    if (x < -reach || y < -reach || x > place.width + reach || y > place.height + reach) return;
    const rings = size > LEAST_OUTLINE_PX && this.outlines.get(table.n[row]);
    const is_marked = this.marked.has(table.n[row]);
    if (rings) outline(paths[table.at[row]].areas, rings, place);
    else mark(paths[table.at[row]].marks, this._looks[table.classes[table.at[row]].look].shape, x, y, place.times);
    if (is_marked && rings) outline(ring, rings, place);
    else if (is_marked) {
      ring.moveTo(x + 9, y);
      ring.arc(x, y, 9, 0, 2 * Math.PI);
    }
  },

  _fill(paint, { marks, areas }, look, times) {
    paint.fillStyle = look.fill;
    paint.fill(areas);
    if (look.over) {
      paint.fillStyle = look.over;
      paint.fill(areas);
    }
    paint.fillStyle = look.fill;
    paint.fill(marks);
    paint.strokeStyle = look.edge;
    paint.lineWidth = 1.25;
    paint.stroke(areas);
    paint.lineWidth = 1.25 * times ** 2;
    paint.stroke(marks);
  },

  _ring(paint, ring) {
    paint.strokeStyle = color("sheet");
    paint.lineWidth = 6;
    paint.stroke(ring);
    paint.strokeStyle = color("ring");
    paint.lineWidth = 3;
    paint.stroke(ring);
  },
});
