// What screens are made of.

import { button, link } from "./controls.js";
import { add, h, newId } from "./dom.js";
import { t } from "./i18n.js";

export * from "./controls.js";
export { add, h, newId };

/** A control with its name, a word of help and, where it is wrong, why. */
export function field({ label, control, help = "", error = "" }) {
  const input = control.matches("input, select, textarea") ? control : control.querySelector("input, select, textarea");
  const described = [input.getAttribute("aria-describedby")];
  const row = h("div", { class: "field" }, h("label", { for: input.id }, label), control);
  for (const [kind, text] of [["help", help], ["error", error]]) {
    if (!text) continue;
    const id = newId(kind);
    described.push(id);
    row.append(h("p", { class: kind, id }, text));
  }
  if (error) input.setAttribute("aria-invalid", "true");
  if (described.some(Boolean)) input.setAttribute("aria-describedby", described.filter(Boolean).join(" "));
  return row;
}

/** `kind`: "" something to know, "caution" somebody may be hurt, "trouble" something is wrong, "good" it is done. */
export function notice(text, kind = "") {
  const mark = { caution: "core.caution", trouble: "core.trouble" }[kind];
  const body = text instanceof Node ? text : h("span", {}, text);
  return h("div", { class: `notice ${kind}`.trim() }, mark ? h("strong", { class: "notice-word" }, t(mark)) : null, body);
}

export function section(title, ...children) {
  const id = newId("section");
  return h("section", { class: "sheet", "aria-labelledby": id }, h("h2", { id }, title), ...children);
}

/** A folded part; opens with a tap. */
export function drawer(title, ...children) {
  return h("details", { class: "sheet drawer" }, h("summary", {}, title), ...children);
}

/** [[name, value]] as a list of facts. */
export function facts(rows) {
  return h("dl", { class: "facts" }, rows.map(([name, value]) => h("div", {}, h("dt", {}, name), h("dd", {}, value))));
}

/** The head of a screen; its title stands in the bar, too. */
export function pageHead(title, backPath = null) {
  document.title = title;
  const back = backPath ? link(t("core.back"), backPath, { class: "back-link" }) : null;
  return h("header", { class: "page-head" }, back, h("h1", { tabindex: "-1" }, title));
}

/** The buttons at the bottom of a screen, where a thumb is. */
export function actions(...children) {
  return h("footer", { class: "actions" }, ...children);
}

let fading = null;

/** Tell it: shown under the bar and read out. */
export function say(text) {
  const place = document.getElementById("said");
  if (!place) return;
  place.textContent = "";
  place.textContent = text;
  place.classList.add("shown");
  clearTimeout(fading);
  fading = setTimeout(() => place.classList.remove("shown"), 6000);
}

/** Ask before something that cannot be taken back; resolves to true or false. `body` is text or an element; with `no` null there is only to be read. */
export function confirmSheet({ title, body = "", yes, no = t("core.cancel"), danger = false }) {
  return new Promise((resolve) => {
    const id = newId("asked");
    const end = (answer) => () => dialog.close(answer);
    const row = h("div", { class: "actions" }, no === null ? null : button(no, end("no")), button(yes, end("yes"), { main: !danger, danger }));
    const text = body instanceof Node ? body : h("p", {}, body);
    const dialog = h("dialog", { class: "asked", "aria-labelledby": id }, h("h2", { id }, title), text, row);
    dialog.addEventListener("close", () => {
      dialog.remove();
      resolve(dialog.returnValue === "yes");
    });
    document.body.append(dialog);
    dialog.showModal();
  });
}
