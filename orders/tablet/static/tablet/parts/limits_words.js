// How the labels' word on a mix and its use is told, and the weather checks that were made.
import { has, number, speed, t, temperature } from "../core/i18n.js";
import { state } from "../core/state.js";
import { read } from "../core/work.js";
import { button, h, notice } from "../core/ui.js";

export const weatherKey = (day) => `weather/${day}`;

/** Checks of the day, the oldest first: those of one order, whose labels they were judged by, or all at its site. */
export async function checksOf({ site, id = null }, day) {
  const rows = await read(weatherKey(day), []);
  return rows.filter((one) => one.site === site && (id === null || one.order === id));
}

export const lastOf = (checks, purpose) => checks.filter((one) => one.purpose === purpose).at(-1) ?? null;

const SHOWN = {
  wind: speed,
  gust: speed,
  calm: speed,
  temperature,
  rain: (hours) => t("spray.hours", { n: number(hours, 1) }),
};

function words(finding) {
  const shown = SHOWN[finding.code.split("_")[0]] ?? String;
  const values = {
    value: finding.value === undefined ? "" : shown(finding.value),
    limit: finding.limit === undefined ? "" : shown(finding.limit),
  };
  const key = finding.code === "not_measured" ? `spray.not_measured_${finding.measure}` : `spray.found_${finding.code}`;
  return has(key) ? t(key, values) : finding.words ?? finding.code;
}

export function findingList(found) {
  if (!found.length) return null;
  const rows = found.map((finding) => {
    const from = [
      t(`spray.kind_${finding.kind.replace("-", "_")}`),
      finding.name,
      finding.reference,
    ].filter(Boolean).join(" · ");
    return h("li", {}, words(finding), h("span", { class: "help" }, from));
  });
  return h("ul", { class: "findings" }, rows);
}

export function verdictNotice(said) {
  const kind = { go: "good", advised_against: "caution", no_go: "trouble" }[said];
  return h("div", { role: "status" }, notice(h("strong", {}, t(`spray.verdict_${said}`)), kind));
}

const L_PER_HA_IN_GAL_PER_ACRE = 0.1069;

export const rateWords = (litersPerHectare) => t("label.rate", {
  n: number(litersPerHectare * L_PER_HA_IN_GAL_PER_ACRE, 2),
  l: number(litersPerHectare, 2),
});

const AMOUNT = { strength: (percent) => t("label.percent", { n: number(percent, 2) }), rate: rateWords };

function deviationWords({ code, name, value, limit }) {
  const shown = AMOUNT[code] ?? String;
  return t(`outside.${code}`, { product: name, value: shown(value), limit: shown(limit) });
}

/** What stands outside a mandatory limit of a label, and the button by which a person says that it happened all the
 * same. `mark` says of what that was said: anything more has to be said anew. */
export function outsideNotice({ head = [], found = [], help, press, pressed, isSaid, onsay, more = null }) {
  if (!head.length && !found.length) return null;
  const sure = button(isSaid ? pressed : press, onsay, { danger: true, disabled: isSaid });
  const told = [...head, ...(found.length ? [t("outside.label")] : [])].map((words) => h("p", {}, h("strong", {}, words)));
  const list = found.length ? h("ul", {}, found.map((one) => h("li", {}, deviationWords(one)))) : null;
  return notice(h("div", {}, told, list, h("p", {}, help), sure, more), "trouble");
}

export const outsideMark = (head, found) => JSON.stringify([head, found.map(({ code, product }) => [code, product])]);

/** Nobody else is there, and the program's policy wants a second person. */
export const isAlone = (members) => members.length === 1 && !state.policy.lone_herbicide_work;
