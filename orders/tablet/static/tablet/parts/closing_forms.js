// Pieces of forms that several screens of mixing, closing and recording share.
import { isUS, t } from "../core/i18n.js";
import { add, choices, field, h, notice, numberInput, textInput, toggle } from "../core/ui.js";
import { UL, rounded } from "./mixes.js";
import { draft, draftDone } from "./work_kept.js";

const MPH_M_S = 0.44704;
const M2 = { acre: 4046.8564224, sqft: 0.09290304 };
const times = (factor) => ({ into: (value) => value * factor, out: (value) => value / factor });
const same = times(1);
const FAHRENHEIT = { into: (f) => ((f - 32) * 5) / 9, out: (c) => (c * 9) / 5 + 32 };

// By kind: [what US units make of it, what metric ones do]; `near` chooses between a large and a small unit.
const volumeUnit = (near) => (isUS() ? (near >= UL.gal ? "gal" : "fl oz") : near >= UL.L ? "L" : "mL");
const areaUnit = (near) => (isUS() ? (near >= M2.acre / 10 ? "acre" : "sqft") : "m2");
const UNITS = {
  temperature: () => (isUS() ? ["close.unit.f", FAHRENHEIT] : ["close.unit.c", same]),
  speed: () => (isUS() ? ["close.unit.mph", times(MPH_M_S)] : ["close.unit.m_s", same]),
  volume: (near) => [`close.unit.${volumeUnit(near).replace(" ", "_")}`, times(UL[volumeUnit(near)])],
  area: (near) => [`close.unit.${areaUnit(near)}`, times(M2[areaUnit(near)] ?? 1)],
};

const isNumber = (value) => value !== null && value !== undefined;

/** A field in the people's units over a value in SI; `near` is the size to be expected. */
export function quantity(kind, { label, value, near = 0, help = "", onchange, ...more }) {
  const [key, unit] = UNITS[kind](near);
  const shown = isNumber(value) ? rounded(unit.out(value)) : null;
  const take = (typed) => onchange(
    typed === null ? null : kind === "volume" ? Math.round(unit.into(typed)) : unit.into(typed),
  );
  const control = numberInput({
    value: shown,
    min: kind === "temperature" ? -80 : 0,
    unit: t(key),
    onchange: take,
    ...more,
  });
  return field({ label, help, control });
}

/** A place whose content is made anew by the function that comes with it. */
export function live(make) {
  const box = h("div", { class: "live" });
  const redraw = () => {
    box.replaceChildren();
    add(box, make());
  };
  redraw();
  return [box, redraw];
}

/** Many of a list of people, as chips that go on and off. */
export function people({ legend, members, chosen, onchange }) {
  const rows = members.map((member) =>
    toggle({
      label: member.name,
      help: member.help ?? "",
      checked: chosen.includes(member.person),
      onchange: (isOn) => onchange(member.person, isOn),
    }),
  );
  return h("fieldset", { class: "choices people" }, h("legend", {}, legend), rows);
}

export const added = (list, one, isOn) => [...list.filter((other) => other !== one), ...(isOn ? [one] : [])];

export function person({ legend, members, value, onchange }) {
  const options = members.map((member) => ({ value: member.person, label: member.name, help: member.help ?? "" }));
  return choices({ legend, options, value, onchange });
}

export function text(label, value, onchange, more = {}) {
  return field({ label, help: more.help, control: textInput({ value: value ?? "", onchange, ...more }) });
}

/** What is still to be told before it can be saved, one line each; nothing where all is there. */
export function obstacles(list) {
  if (!list.length) return null;
  return notice(h("div", {}, h("strong", {}, t("close.still")), h("ul", {}, list.map((told) => h("li", {}, told)))));
}

/** The mark of a figure that nobody has touched yet. */
export const untouched = (key = "close.from_estimate") => h("span", { class: "prefilled" }, t(key));

/** What somebody began to enter, kept until it is queued. */
export async function drafted(name, make) {
  const kept = await draft(name, make());
  return { draft: kept.value, save: () => kept.keep(), drop: draftDone(name) };
}
