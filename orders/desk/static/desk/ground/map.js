// The page of the map: what is asked, fetched and drawn, and what the mouse, a finger and the keyboard do with it.

import { openGround, showBox, told } from "../map/ground.js";
import { Box } from "./map_box.js";
import { openCross } from "./map_cross.js";
import { Legend } from "./map_legend.js";
import { Marks } from "./map_marks.js";
import { Outlines } from "./map_outlines.js";
import { Patches } from "./map_patches.js";
import { Picture } from "./map_picture.js";
import { fitPaper } from "./map_print.js";
import { openSites } from "./map_sites.js";
import { say, turn } from "./map_words.js";

const L = window.L;

class MapPage {
  constructor(element) {
    this.element = element;
    this.marks = new Marks(element.dataset.marks);
    this.map = openGround(element, { box: told("map-box") });
    this.map.keyboard.disable();
    this.picture = new Picture().addTo(this.map);
    this.picture.marked = this.marks.numbers;
    this.patches = new Patches(this.picture, () => this.#drawn());
    this.legend = new Legend(this.picture);
    this.outlines = new Outlines(this.map, this.picture, element.dataset.outlines);
    this.tip = L.tooltip({ direction: "top", offset: [0, -10] });
    this.box = new Box(this.map, (one, other) => this.#markBox(one, other));
    this.cross = openCross(this.map, this.#keys(), (point) => this.#look(point, true));
    this.#listen();
    openSites(this.map, element.dataset.sites);
    fitPaper(this.map);
    this.load();
  }

  /** What stands in the address, after another part of the page was fetched too. */
  load() {
    this.marks.fill();
    this.patches.load(document.getElementById("found").dataset.source);
  }

  #drawn() {
    this.legend.fill();
    this.element.dataset.drawn = this.patches.address;
    this.outlines.fetch();
  }

  #listen() {
    this.map.on("mousemove", ({ containerPoint }) => {
      this.box.show(containerPoint);
      this.#look(containerPoint);
    });
    this.map.on("mouseout", () => this.tip.remove());
    this.map.on("click", ({ containerPoint, originalEvent: by }) => this.#use(containerPoint, by.ctrlKey || by.metaKey));
    this.marks.addEventListener("change", () => this.picture.redraw());
    this.marks.addEventListener("unsaved", () => say("The marks could not be kept. They stand on this page."));
    document.addEventListener("click", (event) => this.#press(event));
    document.addEventListener("change", (event) => this.#change(event));
    document.addEventListener("htmx:afterSettle", () => this.load());
  }

  #keys() {
    return {
      Enter: (point) => this.#use(point, true),
      Space: (point) => this.#open(this.picture.rowAt(point)),
      Home: () => this.#whole(),
      Escape: () => this.#escape(),
      "+": () => this.map.zoomIn(),
      "=": () => this.map.zoomIn(),
      "-": () => this.map.zoomOut(),
    };
  }

  #use(point, is_marking) {
    const mode = this.element.dataset.mode ?? "open";
    if (mode === "box") return this.#corner(point);
    const row = this.picture.rowAt(point);
    if (row < 0) return say("No patch here.");
    if (is_marking || mode === "mark") return this.#mark(row);
    return this.#open(row);
  }

  #corner(point) {
    this.box.corner(point);
    if (this.box.is_open) say("First corner set. Set the corner across from it.");
  }

  #mark(row) {
    const is_marked = this.marks.toggle(this.picture.table.n[row]);
    say(`${this.picture.table.name(row)} ${is_marked ? "marked" : "not marked any more"}. ${this.marks.numbers.size} marked.`);
    this.#card();
  }

  #markBox(one, other) {
    this.patches.when(() => this.#markRows(this.picture.rowsIn(one, other)));
  }

  #markRows(rows) {
    this.marks.put(rows.map((row) => this.picture.table.n[row]));
    say(`${rows.length} in the box. ${this.marks.numbers.size} marked.`);
    this.#card();
  }

  async #open(row) {
    if (row < 0) return;
    const query = new URL(this.patches.address, location.href).searchParams;
    query.set("n", this.picture.table.n[row]);
    await window.htmx.ajax("GET", `${this.element.dataset.card}?${query}`, "#map-card");
    this.#card();
  }

  /** The button of the card says whether its patch is marked. */
  #card() {
    const button = document.querySelector("#map-card [data-toggle]");
    if (!button) return;
    const is_marked = this.marks.has(Number(button.dataset.toggle));
    button.setAttribute("aria-pressed", is_marked);
    button.textContent = is_marked ? "Marked" : "Mark";
  }

  #look(point, is_said = false) {
    const row = this.picture.rowAt(point);
    if (row < 0) return this.tip.remove();
    const { table } = this.picture;
    const words = `${table.name(row)}: ${table.words.toLowerCase()} ${table.told(row)}`;
    const at = this.map.containerPointToLatLng(point);
    this.tip.setLatLng(at).setContent(document.createTextNode(words)).addTo(this.map);
    if (is_said) say(`${words}${this.marks.has(table.n[row]) ? ", marked" : ""}`);
    return undefined;
  }

  /** Buttons of the page name what they do in their data. */
  #press(event) {
    const does = event.target.closest("button")?.dataset ?? {};
    const row = (number) => this.picture.table.rowOf.get(Number(number));
    const acts = {
      mode: () => {
        this.box.cancel();
        turn(this.element, does.mode);
      },
      whole: () => this.#whole(),
      print: () => print(),
      close: () => this.#escape(),
      toggle: () => this.patches.when(() => this.#mark(row(does.toggle))),
      find: () => this.patches.when(() => this.#find(row(does.find))),
      here: () => this.patches.when(() => this.#here(does.here)),
    };
    const named = Object.keys(acts).find((name) => name in does);
    if (!named) return;
    event.preventDefault();
    acts[named]();
  }

  /** Marks all and clears all without leaving the page. */
  #here(act) {
    if (act === "clear") this.marks.clear();
    else this.marks.put(this.picture.numbersShown());
    say(`${this.marks.numbers.size} marked.`);
    this.#card();
  }

  #change({ target }) {
    if (target.name === "patch") {
      this.marks.put([Number(target.value)], target.checked);
      say(`${this.marks.numbers.size} marked.`);
    }
    if (target.name === "shown") this.legend.change();
  }

  #whole() {
    showBox(this.map, told("map-box"));
  }

  #find(row) {
    showBox(this.map, this.picture.table.box(row));
    this.element.scrollIntoView({ block: "nearest" });
    this.#open(row);
  }

  #escape() {
    this.box.cancel();
    this.tip.remove();
    document.getElementById("map-card").replaceChildren();
    this.element.focus({ preventScroll: true });
  }
}

document.documentElement.classList.add("has-scripts");
const element = document.getElementById("map");
if (element) new MapPage(element);
