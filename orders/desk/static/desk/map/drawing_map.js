// The map of a drawing: what is drawn, the corners of the ring at hand, and the chosen corner as a handle for mouse,
// finger and keys. Only the chosen one can be reached with Tab; the others are dots on the canvas.

import { color, openGround, showBox, whenColorsTurn } from "./ground.js";

const L = window.L;
const HANDLE_PX = 44;
const NUDGE_PX = 1;
const FAR_PX = 10;
const ARROWS = { ArrowUp: [0, -1], ArrowDown: [0, 1], ArrowLeft: [-1, 0], ArrowRight: [1, 0] };

const toMap = ([east, north]) => [north, east];
const fromMap = ({ lat, lng }) => [lng, lat];

function surroundings(map, around) {
  const style = () => ({ color: color("edge"), weight: 2, dashArray: "6 4", fillOpacity: 0, interactive: false });
  const layer = L.geoJSON(around, { style, interactive: false, pointToLayer: (_, at) => L.circleMarker(at, { radius: 4 }) });
  whenColorsTurn(() => layer.setStyle(style()));
  return layer.addTo(map);
}

export class DrawingMap {
  constructor(element, shape, { box, around }) {
    this.shape = shape;
    this.adding = false;
    this.map = openGround(element, { box });
    if (around) surroundings(this.map, around);
    this.drawn = L.layerGroup().addTo(this.map);
    this.handle = null;
    this.map.on("click", ({ latlng }) => this.adding && !this.justDropped && shape.add(fromMap(latlng)));
    whenColorsTurn(() => this.show());
    this.show();
  }

  /** Draws everything anew; the handle stays the same element, so that focus and a drag under way are kept. */
  show() {
    this.drawn.clearLayers();
    this.shape.rings.forEach(({ part, ring, corners }) => this.showRing(part, ring, corners));
    this.showHandle();
  }

  showRing(part, ring, corners) {
    const { at, kind } = this.shape;
    const isAtHand = part === at.part && ring === at.ring;
    const style = { color: color(isAtHand ? "lapis" : "soft-ink"), weight: isAtHand ? 3 : 2, interactive: false };
    const isClosed = kind === "outline" && corners.length > 2;
    const line = corners.map(toMap);
    const fill = { fill: ring === 0, fillColor: color("lapis"), fillOpacity: 0.12, dashArray: ring ? "4 4" : null };
    this.drawn.addLayer(isClosed ? L.polygon(line, { ...style, ...fill }) : L.polyline(line, style));
    corners.forEach((corner, index) => this.showDot(corner, [part, ring, index], isAtHand));
  }

  showDot(corner, place, isAtHand) {
    const dot = L.circleMarker(toMap(corner), {
      radius: isAtHand ? 6 : 4,
      color: color(isAtHand ? "lapis" : "soft-ink"),
      fillColor: color("sheet"),
      fillOpacity: 1,
      bubblingMouseEvents: false,
    });
    dot.on("mousedown", (event) => this.take(place, event));
    dot.on("click", () => this.shape.choose(...place));
    this.drawn.addLayer(dot);
  }

  /** A mouse may drag a dot at once; a finger chooses it first. */
  take(place, { originalEvent }) {
    L.DomEvent.preventDefault(originalEvent);
    this.shape.choose(...place);
    this.map.dragging.disable();
    const move = ({ latlng }) => this.shape.place(place[2], fromMap(latlng), "drag");
    this.map.on("mousemove", move);
    const drop = () => {
      this.map.off("mousemove", move);
      this.map.dragging.enable();
      this.shape.step = null;
      document.removeEventListener("mouseup", drop);
      this.justDropped = true; // a click follows where the button is let go
      setTimeout(() => { this.justDropped = false; });
    };
    document.addEventListener("mouseup", drop);
  }

  showHandle() {
    const { chosen, at, ring, kind } = this.shape;
    if (!chosen) {
      this.handle?.remove();
      this.handle = null;
      return;
    }
    this.handle ??= this.newHandle();
    this.handle.setLatLng(toMap(chosen));
    const element = this.handle.getElement();
    const of = kind === "line" ? "the line" : `part ${at.part + 1}${at.ring ? `, hole ${at.ring}` : ""}`;
    element.setAttribute(
      "aria-label",
      `Corner ${at.corner + 1} of ${ring.length} of ${of}. Arrow keys move it, Page Up and Page Down choose another, Enter adds one after it, Delete removes it.`,
    );
  }

  newHandle() {
    const icon = L.divIcon({ className: "drawing-handle", iconSize: [HANDLE_PX, HANDLE_PX] });
    const handle = L.marker(toMap(this.shape.chosen), { icon, draggable: true, keyboard: false, zIndexOffset: 1000 });
    handle.on("drag", () => this.shape.place(this.shape.at.corner, fromMap(handle.getLatLng()), "drag"));
    handle.on("dragend", () => { this.shape.step = null; });
    handle.addTo(this.map);
    const element = handle.getElement();
    element.setAttribute("role", "button");
    element.tabIndex = 0;
    element.addEventListener("keydown", (event) => this.heardKey(event));
    return handle;
  }

  heardKey(event) {
    const { shape } = this;
    const { part, ring, corner } = shape.at;
    const turn = (by) => shape.choose(part, ring, (corner + by + shape.ring.length) % shape.ring.length);
    const does = {
      Enter: () => shape.addBetween(),
      Delete: () => shape.remove(),
      Backspace: () => shape.remove(),
      PageUp: () => turn(-1),
      PageDown: () => turn(1),
    }[event.key] ?? (ARROWS[event.key] && (() => this.nudge(ARROWS[event.key], event.shiftKey)));
    if (!does || event.altKey || event.ctrlKey || event.metaKey) return;
    event.preventDefault();
    event.stopPropagation();
    does();
    this.keepInView();
    if (!this.handle) this.map.getContainer().focus();
  }

  nudge([x, y], isFar) {
    const step = isFar ? FAR_PX : NUDGE_PX;
    const at = this.map.latLngToContainerPoint(toMap(this.shape.chosen)).add([x * step, y * step]);
    this.shape.place(this.shape.at.corner, fromMap(this.map.containerPointToLatLng(at)), "keys");
  }

  keepInView() {
    const { chosen } = this.shape;
    if (chosen) this.map.panInside(toMap(chosen), { padding: [HANDLE_PX, HANDLE_PX] });
  }

  /** Shows all that is drawn, else where the page began. */
  showAll(box) {
    const corners = this.shape.rings.flatMap((ring) => ring.corners);
    const drawn = corners.length ? L.latLngBounds(corners.map(toMap)) : null;
    const found = drawn ? [drawn.getWest(), drawn.getSouth(), drawn.getEast(), drawn.getNorth()] : box;
    if (found) showBox(this.map, found);
  }
}
