// Controls for gloves: each target at least 48 px, nothing that only dragging can do.

import { h, newId } from "./dom.js";
import { t } from "./i18n.js";

/** A number as somebody types it, with a point or a comma; null for nothing or for no number. */
export function numberRead(text) {
  const plain = text.trim().replace(",", ".");
  return plain === "" || !Number.isFinite(Number(plain)) ? null : Number(plain);
}

function numberShown(value) {
  return value === null || value === undefined ? "" : String(value);
}

function within(value, min, max) {
  return Math.min(max ?? Infinity, Math.max(min ?? -Infinity, value));
}

export function textInput({ value = "", onchange, type = "text", maxlength = 400, ...more }) {
  return h("input", { type, id: newId("text"), value, maxlength, autocomplete: "off", oninput: (event) => onchange?.(event.target.value), ...more });
}

export function textArea({ value = "", onchange, maxlength = 2000, ...more }) {
  return h("textarea", { id: newId("text"), value, maxlength, rows: 3, oninput: (event) => onchange?.(event.target.value), ...more });
}

/** `options` are {value, label}. */
export function select({ options, value = "", onchange, ...more }) {
  const rows = options.map((option) => h("option", { value: option.value, selected: option.value === value }, option.label));
  return h("select", { id: newId("select"), onchange: (event) => onchange?.(event.target.value), ...more }, rows);
}

/** A number with its unit; `onchange` gets a number or null. What is no number, or out of bounds, is marked. */
export function numberInput({ value = null, step = "any", min = null, max = null, unit = "", onchange, ...more }) {
  const input = h("input", { type: "text", inputmode: "decimal", id: newId("number"), value: numberShown(value), autocomplete: "off", "data-step": step, ...more });
  input.addEventListener("input", () => {
    const read = numberRead(input.value);
    const bad = (input.value.trim() !== "" && read === null) || (read !== null && read !== within(read, min, max));
    input.setAttribute("aria-invalid", String(bad));
    onchange?.(bad ? null : read);
  });
  if (!unit) return h("div", { class: "number-input" }, input);
  const named = newId("unit");
  input.setAttribute("aria-describedby", named);
  return h("div", { class: "number-input" }, input, h("span", { class: "unit", id: named }, unit));
}

/** A number with a minus and a plus. `shown` makes words of it. */
export function stepper({ label, value = 0, step = 1, min = 0, max = null, shown = String, onchange }) {
  let now = value;
  const output = h("output", { "aria-live": "polite" }, shown(now));
  const less = h("button", { type: "button", "aria-label": t("core.less", { what: label }), onclick: () => move(-step) }, "−");
  const more = h("button", { type: "button", "aria-label": t("core.more", { what: label }), onclick: () => move(step) }, "+");
  const element = h("div", { class: "stepper", role: "group", "aria-label": label }, less, output, more);
  function draw() {
    output.textContent = shown(now);
    less.disabled = min !== null && now <= min;
    more.disabled = max !== null && now >= max;
  }
  function move(by) {
    now = within(Math.round((now + by) * 1e6) / 1e6, min, max);
    draw();
    onchange?.(now);
  }
  draw();
  return element;
}

/** One of a few, as chips. `options` are {value, label, help?}. */
export function choices({ legend, name = newId("choice"), options, value = null, onchange }) {
  const chips = options.map((option) => {
    const id = newId("chip");
    const input = h("input", { type: "radio", id, name, value: option.value, checked: option.value === value, onchange: () => onchange?.(option.value) });
    const help = option.help ? h("span", { class: "help" }, option.help) : null;
    return h("div", { class: "chip" }, input, h("label", { for: id }, option.label, help));
  });
  return h("fieldset", { class: "choices" }, h("legend", {}, legend), h("div", { class: "chips" }, chips));
}

export function toggle({ label, checked = false, onchange, help = "" }) {
  const id = newId("toggle");
  const input = h("input", { type: "checkbox", id, checked, onchange: (event) => onchange?.(event.target.checked) });
  return h("div", { class: "toggle" }, input, h("label", { for: id }, label, help ? h("span", { class: "help" }, help) : null));
}

/** A slider that taps can move, too. */
export function slider({ label, value, min = 0, max = 100, step = 1, shown = String, onchange }) {
  let now = value;
  const id = newId("slider");
  const range = h("input", { type: "range", id, min, max, step, value, oninput: () => take(Number(range.value)) });
  const output = h("output", { for: id }, shown(now));
  const less = h("button", { type: "button", "aria-label": t("core.less", { what: label }), onclick: () => take(now - step) }, "−");
  const more = h("button", { type: "button", "aria-label": t("core.more", { what: label }), onclick: () => take(now + step) }, "+");
  range.setAttribute("aria-valuetext", shown(now));
  function take(next) {
    now = within(next, min, max);
    range.value = now;
    range.setAttribute("aria-valuetext", shown(now));
    output.textContent = shown(now);
    onchange?.(now);
  }
  return h("div", { class: "slider" }, h("label", { for: id }, label), output, h("div", { class: "slider-row" }, less, range, more));
}

/** A button. While what it does runs, a second tap does nothing. */
export function button(label, onclick, { main = false, danger = false, ...more } = {}) {
  const kind = main ? "main-button" : danger ? "danger-button" : "plain-button";
  const element = h("button", { type: "button", class: kind, ...more }, label);
  element.addEventListener("click", async (event) => {
    if (element.getAttribute("aria-busy") === "true") return;
    element.setAttribute("aria-busy", "true");
    try {
      await onclick(event);
    } finally {
      element.removeAttribute("aria-busy");
    }
  });
  return element;
}

export function link(label, path, { main = false, ...more } = {}) {
  return h("a", { href: `#${path}`, class: main ? "main-button" : "plain-button", ...more }, label);
}
