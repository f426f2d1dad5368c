// Marking by a box: with Shift held and the mouse dragged, or by two corners, which a finger and the keyboard can do too.

const L = window.L;

export class Box {
  /** `done(one, other)` is told the corners, in pixels of the map's element. */
  constructor(map, done) {
    this.map = map;
    this.done = done;
    this.element = document.createElement("div");
    this.element.className = "map-box";
    this.element.hidden = true;
    map.getContainer().append(this.element);
    map.getContainer().addEventListener("pointerdown", (event) => this.#dragStart(event), true);
  }

  get is_open() {
    return Boolean(this.first);
  }

  /** The first corner opens the box, the second closes it. */
  corner(point) {
    if (!this.first) {
      this.first = point;
      this.show(point);
      return;
    }
    const first = this.first;
    this.cancel();
    this.done(first, point);
  }

  show(point) {
    if (!this.first) return;
    const { style } = this.element;
    style.left = `${Math.min(this.first.x, point.x)}px`;
    style.top = `${Math.min(this.first.y, point.y)}px`;
    style.width = `${Math.abs(this.first.x - point.x)}px`;
    style.height = `${Math.abs(this.first.y - point.y)}px`;
    this.element.hidden = false;
  }

  cancel() {
    this.first = null;
    this.element.hidden = true;
  }

  /** Before Leaflet sees it, which would move the map. */
  #dragStart(event) {
    if (!event.shiftKey || event.button !== 0) return;
    event.preventDefault();
    event.stopPropagation();
    const follow = new AbortController();
    this.cancel();
    this.corner(this.#place(event));
    this.map.dragging.disable();
    addEventListener("pointermove", (moved) => this.show(this.#place(moved)), follow);
    const end = (up) => {
      follow.abort();
      this.map.dragging.enable();
      this.#swallowClick();
      if (up.type === "pointerup") this.corner(this.#place(up));
      else this.cancel();
    };
    addEventListener("pointerup", end, follow);
    addEventListener("pointercancel", end, follow);
  }

  /** The click that ends a drag means nothing by itself. */
  #swallowClick() {
    const container = this.map.getContainer();
    const swallow = (click) => click.stopImmediatePropagation();
    container.addEventListener("click", swallow, { capture: true, once: true });
    setTimeout(() => container.removeEventListener("click", swallow, true), 100);
  }

  #place(event) {
    const { left, top } = this.map.getContainer().getBoundingClientRect();
    return L.point(event.clientX - left, event.clientY - top);
  }
}
