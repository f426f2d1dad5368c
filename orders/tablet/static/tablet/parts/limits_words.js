// How the weather's word on a use is told, and the checks that were made.
import { has, number, speed, t, temperature } from "../core/i18n.js";
import { read } from "../core/work.js";
import { h, notice } from "../core/ui.js";

export const weatherKey = (day) => `weather/${day}`;

/** Checks of the day at the order's site, the oldest first. */
export async function checksOf(order, day) {
  const rows = await read(weatherKey(day), []);
  return rows.filter((one) => one.site === order.site);
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
