// Drawing an outline (or a line) into a field of a form: parts/draw.html is the markup, and every one on the page is
// opened when the page is read. The field holds GeoJSON; without scripts it is typed or pasted.

import { areaM2, crossing, lengthM, M2_AN_ACRE } from "./drawing_area.js";
import { DrawingMap } from "./drawing_map.js";
import { LEAST, Shape } from "./drawing_shape.js";
import { CornerTable } from "./drawing_table.js";
import { fromText, toText } from "./drawing_text.js";
import { told } from "./ground.js";

const SAID_AFTER_MS = 900;
const METERS_A_FOOT = 0.3048;
const WAIT_FOR_PLACE = { enableHighAccuracy: true, timeout: 20_000, maximumAge: 5_000 };

const number = (value, digits) => value.toLocaleString("en-US", { maximumFractionDigits: digits, minimumFractionDigits: digits });

/** An area in words: acres first, as the trade has it. */
export function areaWords(m2) {
  return `${number(m2 / M2_AN_ACRE, 3)} acres (${number(m2, m2 < 100 ? 1 : 0)} m²)`;
}

const lengthWords = (meters) => `${number(meters / METERS_A_FOOT, 0)} ft (${number(meters, 0)} m)`;

class Drawing {
  constructor(element) {
    this.element = element;
    this.field = element.querySelector("textarea");
    const { kind, points } = element.dataset;
    this.shape = new Shape(kind || "outline", Boolean(points));
    this.box = told(`${this.field.id}-box`);
    this.read(false);
    this.shape.begin();
    this.table = this.openTable();
    this.part("tools").hidden = this.part("map").hidden = false; // before the map is opened: it asks how large it is
    this.map = new DrawingMap(this.part("map"), this.shape, { box: this.box, around: told(`${this.field.id}-around`) });
    this.openTools();
    this.shape.addEventListener("change", () => this.changed());
    if (!this.shape.isEmpty) this.map.showAll(this.box);
    this.setAdding(this.shape.isEmpty);
    this.show();
  }

  part(name) { return this.element.querySelector(`[data-part="${name}"]`); }

  openTable() {
    const drawer = this.part("corners");
    const pages = { text: this.part("pages"), back: this.part("back"), on: this.part("on") };
    const table = new CornerTable(drawer.querySelector("tbody"), pages, this.shape);
    drawer.addEventListener("toggle", () => {
      table.isShown = drawer.open;
      table.show();
    });
    return table;
  }

  openTools() {
    const { shape } = this;
    const does = {
      adding: () => this.setAdding(!this.map.adding),
      undo: () => shape.undo(),
      redo: () => shape.redo(),
      remove: () => shape.remove(),
      "part-add": () => this.begins(() => shape.addPart()),
      hole: () => this.begins(() => shape.addHole()),
      "ring-remove": () => shape.removeRing(),
      clear: () => this.begins(() => shape.clear()),
      all: () => this.map.showAll(this.box),
      here: () => this.addHere(),
      middle: () => shape.add(this.middle()),
    };
    for (const button of this.element.querySelectorAll("[data-does]")) button.addEventListener("click", does[button.dataset.does]);
    this.field.addEventListener("change", () => this.read(true));
    this.part("ring").addEventListener("change", ({ target }) => {
      const [part, ring] = target.value.split(" ").map(Number);
      shape.choose(part, ring, -1);
    });
  }

  middle() {
    const { lng, lat } = this.map.map.getCenter();
    return [lng, lat];
  }

  begins(step) {
    step();
    this.setAdding(true);
  }

  setAdding(isOn) {
    this.map.adding = isOn;
    this.element.querySelector('[data-does="adding"]').setAttribute("aria-pressed", String(isOn));
    this.element.classList.toggle("drawing-adding", isOn);
  }

  /** Takes what the field says; text that is no outline is told and changes nothing. */
  read(isTyped) {
    try {
      this.shape.load(fromText(this.field.value));
      if (isTyped) this.map.showAll(this.box);
    } catch (error) {
      this.tell(error.message);
    }
  }

  changed() {
    this.field.value = toText(this.shape.whole, this.shape.kind);
    this.map.show();
    this.table.show();
    this.show();
    const detail = { m2: areaM2(this.shape.whole) };
    this.element.dispatchEvent(new CustomEvent("drawn", { bubbles: true, detail }));
  }

  show() {
    const { shape } = this;
    const words = this.words();
    this.part("size").textContent = words;
    clearTimeout(this.saying);
    this.saying = setTimeout(() => { this.part("heard").textContent = words; }, SAID_AFTER_MS);
    this.tell(this.trouble());
    this.showRings();
    const off = { undo: !shape.past.length, redo: !shape.future.length, remove: !shape.chosen, hole: !shape.isWhole(shape.parts[shape.at.part][0]) || shape.ring.length === 1 };
    for (const [name, isOff] of Object.entries(off)) {
      const button = this.element.querySelector(`[data-does="${name}"]`);
      if (button) button.disabled = isOff;
    }
  }

  words() {
    const { whole, kind, rings } = this.shape;
    const corners = rings.reduce((sum, ring) => sum + ring.corners.length, 0);
    const told = `${corners} ${corners === 1 ? "corner" : "corners"}`;
    if (kind === "line") return `${lengthWords(whole.length ? lengthM(whole[0][0]) : 0)}, ${told}`;
    if (whole.length === 1 && whole[0][0].length === 1) return "One place, no outline";
    return `${areaWords(areaM2(whole))}, ${told}`;
  }

  trouble() {
    const { kind, rings } = this.shape;
    const met = crossing(this.shape.whole, kind === "outline");
    if (met) {
      const near = `longitude ${met[0].toFixed(6)}, latitude ${met[1].toFixed(6)}`;
      return `The ${kind} crosses itself near ${near}. Move a corner, or undo.`;
    }
    const isShort = rings.some(({ corners }) => corners.length > 0 && !this.shape.isWhole(corners));
    return isShort && rings.length > 1 ? `A part or hole has fewer than ${LEAST[kind]} corners and is left out.` : "";
  }

  tell(words) {
    const place = this.part("trouble");
    if (!place || place.textContent === words) return;
    place.textContent = words;
    place.hidden = !words;
  }

  showRings() {
    const choice = this.part("ring");
    const { at, rings } = this.shape;
    const options = rings.map(({ part, ring, corners }) => {
      const name = ring ? `Part ${part + 1}, hole ${ring}` : `Part ${part + 1}`;
      return new Option(`${name} (${corners.length})`, `${part} ${ring}`, false, part === at.part && ring === at.ring);
    });
    choice.replaceChildren(...options);
    choice.closest(".field").hidden = rings.length < 2;
    this.element.querySelector('[data-does="ring-remove"]').hidden = rings.length < 2;
  }

  addHere() {
    const say = (words) => { this.part("place").textContent = words; };
    if (!navigator.geolocation) return say("This browser does not tell where you are.");
    say("Asking this device where you are.");
    navigator.geolocation.getCurrentPosition(
      ({ coords }) => {
        this.shape.add([coords.longitude, coords.latitude]);
        this.map.keepInView();
        say(`A corner is added where you stand, to within ${number(coords.accuracy, 0)} m.`);
      },
      () => say("This device did not tell where you are. Allow it in the browser, or go where it sees the sky."),
      WAIT_FOR_PLACE,
    );
  }
}

const opened = new Map();

/** The drawing of an element of class "drawing", for pages that do more with it. */
export function drawingOf(element) {
  if (!opened.has(element)) opened.set(element, new Drawing(element));
  return opened.get(element);
}

for (const element of document.querySelectorAll(".drawing")) drawingOf(element);
