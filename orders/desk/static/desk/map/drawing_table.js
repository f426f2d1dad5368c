// The corners of the ring at hand as a table: everything that the map can do, without it.

const ROWS = 20;
const LIMITS = { 0: 180, 1: 90 };
const NAMES = ["longitude", "latitude"];

function made(tag, attributes = {}, text = "") {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
  element.textContent = text;
  return element;
}

function cell(name, ...content) {
  const found = made("td", { role: "cell", "data-name": name });
  found.append(...content);
  return found;
}

/** Fills `body` (a tbody) and tells `pages` ({ text, back, on }) which rows are shown. */
export class CornerTable {
  constructor(body, pages, shape) {
    Object.assign(this, { body, pages, shape, first: 0, isShown: false, isTyping: false });
    pages.back.addEventListener("click", () => this.turn(-ROWS));
    pages.on.addEventListener("click", () => this.turn(ROWS));
  }

  turn(by) {
    this.first = Math.max(0, this.first + by);
    this.fill();
  }

  /** Shows the page of the chosen corner. What is typed here stands already, and filling anew would lose the focus. */
  show() {
    if (!this.isShown || this.isTyping) return;
    const { corner } = this.shape.at;
    if (corner >= 0) this.first = corner - (corner % ROWS);
    this.fill();
  }

  fill() {
    const { ring } = this.shape;
    if (this.first >= ring.length) this.first = Math.max(0, ring.length - 1 - ((ring.length - 1) % ROWS));
    const focused = this.body.contains(document.activeElement) ? document.activeElement.dataset.key : null;
    const shown = ring.slice(this.first, this.first + ROWS);
    this.body.replaceChildren(...shown.map((corner, index) => this.row(corner, this.first + index)));
    if (focused) this.focusOn(focused);
    const { text, back, on } = this.pages;
    const last = this.first + shown.length;
    text.textContent = ring.length ? `Corners ${this.first + 1} to ${last} of ${ring.length}` : "No corner yet";
    back.hidden = this.first === 0;
    on.hidden = last >= ring.length;
  }

  focusOn(key) {
    const [what] = key.split(" ");
    const found = this.body.querySelector(`[data-key="${key}"]:not([disabled])`)
      ?? this.body.querySelector(`[data-key="${what} ${this.shape.at.corner}"]`)
      ?? this.body.querySelector("button");
    found?.focus();
  }

  row(corner, index) {
    const row = made("tr", { role: "row", ...(index === this.shape.at.corner && { "aria-current": "true" }) });
    const head = made("th", { scope: "row", role: "rowheader" });
    head.append(this.button(`Corner ${index + 1}`, "choose", index, () => this.choose(index)));
    row.append(head, ...[0, 1].map((axis) => cell(NAMES[axis], this.input(corner, index, axis))), cell("change", this.buttons(index)));
    return row;
  }

  buttons(index) {
    const row = made("div", { class: "actions drawing-row" });
    const up = this.button("Up", "up", index, () => this.shape.shift(index, -1));
    const down = this.button("Down", "down", index, () => this.shape.shift(index, 1));
    up.disabled = index === 0;
    down.disabled = index === this.shape.ring.length - 1;
    const after = this.button("Add after", "after", index, () => this.shape.addBetween(index));
    row.append(up, down, after, this.button("Remove", "remove", index, () => this.shape.remove(index)));
    return row;
  }

  button(words, what, index, does) {
    const button = made("button", { type: "button", "data-key": `${what} ${index}` }, words);
    if (what !== "choose") button.append(made("span", { class: "only-heard" }, ` corner ${index + 1}`));
    button.addEventListener("click", does);
    return button;
  }

  input(corner, index, axis) {
    const label = `Corner ${index + 1}, ${NAMES[axis]}`;
    const input = made("input", { inputmode: "decimal", "aria-label": label, "data-key": `${NAMES[axis]} ${index}`, value: corner[axis] });
    input.addEventListener("change", () => this.typed(input, index, axis));
    return input;
  }

  choose(index) {
    const { part, ring } = this.shape.at;
    this.shape.choose(part, ring, index);
  }

  typed(input, index, axis) {
    const value = Number(input.value);
    const isPlace = input.value.trim() !== "" && Math.abs(value) <= LIMITS[axis];
    input.setAttribute("aria-invalid", String(!isPlace));
    if (!isPlace) return;
    const corner = [...this.shape.ring[index]];
    corner[axis] = value;
    this.isTyping = true;
    this.shape.place(index, corner);
    this.isTyping = false;
  }
}
