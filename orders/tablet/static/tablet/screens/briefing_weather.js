// The day's readings, as they are typed, and what follows from them by the published figures.

import { isUS, number, t, temperature } from "../core/i18n.js";
import { choices, facts, field, h, notice, numberInput, toggle } from "../core/ui.js";
import { ACCLIMATIZATION, celsius, dayComputed, fahrenheit, milesPerHour, WORKLOADS } from "../parts/safety.js";
import { actionWords, bandWords } from "../parts/safety_words.js";

const M_S_PER_MPH = 0.44704;
const round = (value, digits = 1) => (value === null || value === undefined ? null : Number(value.toFixed(digits)));
const given = (value) => value !== null && value !== undefined;

const degrees = {
  unit: () => (isUS() ? "°F" : "°C"),
  shown: (c) => (given(c) ? round(isUS() ? fahrenheit(c) : c) : null),
  read: (value) => (given(value) && isUS() ? celsius(value) : value),
};
const breeze = {
  unit: () => t(isUS() ? "briefing.mph" : "briefing.m_s"),
  shown: (metersPerSecond) => (given(metersPerSecond) ? round(isUS() ? milesPerHour(metersPerSecond) : metersPerSecond) : null),
  read: (value) => (given(value) && isUS() ? value * M_S_PER_MPH : value),
};

function heatRows({ heat, work_minutes_per_hour: minutes }) {
  const rows = [];
  if (heat) rows.push([t("briefing.heat_index"), `${temperature(heat.heat_index_c)} · ${bandWords("heat", heat.band)}`]);
  if (heat && heat.felt_c !== heat.heat_index_c) rows.push([t("briefing.in_sun"), temperature(heat.felt_c)]);
  if (given(minutes)) rows.push([t("briefing.work_rest"), minutes ? t("briefing.minutes", { work: minutes, rest: 60 - minutes }) : t("briefing.no_work")]);
  return rows;
}

function easeIn() {
  const shares = (name) => ACCLIMATIZATION[name].map((share) => `${number(share * 100)}%`).join(", ");
  return h("p", {}, t("briefing.ease_in", { fresh: shares("new"), returning: shares("returning") }));
}

/** What is told of the readings: figures, their bands, and what is done about them. */
export function told(reading) {
  const found = dayComputed(reading);
  const rows = heatRows(found);
  if (found.cold) rows.push([t("briefing.wind_chill"), `${temperature(found.cold.wind_chill_c)} · ${bandWords("cold", found.cold.band)}`]);
  if (!rows.length) return [notice(t("briefing.type_readings"))];
  const actions = [...new Set([...(found.heat?.actions ?? []), ...(found.cold?.actions ?? [])])];
  const isHot = (found.heat?.band ?? "none") !== "none";
  const done = actions.length ? notice(h("ul", {}, actions.map((code) => h("li", {}, actionWords(code)))), "caution") : null;
  return [facts(rows), done, isHot ? easeIn() : null, h("p", { class: "source" }, t("briefing.source"))].filter(Boolean);
}

/** Fields for the readings; `change` gets {name: value} in SI units. */
export function readings(value, change) {
  const one = (name, scale, bounds) =>
    numberInput({ value: scale.shown(value[name]), unit: scale.unit(), ...bounds, onchange: (typed) => change({ [name]: round(scale.read(typed), 2) }) });
  const percent = { shown: (now) => now ?? null, unit: () => "%", read: (now) => now };
  return h(
    "div",
    { class: "readings" },
    field({ label: t("briefing.temperature"), control: one("air_temperature_c", degrees, { min: -60, max: 140 }) }),
    field({ label: t("briefing.humidity"), control: one("relative_humidity_percent", percent, { min: 0, max: 100 }) }),
    field({ label: t("briefing.wind"), control: one("wind_m_s", breeze, { min: 0, max: 120 }) }),
    toggle({ label: t("briefing.full_sun"), checked: value.full_sun, onchange: (full_sun) => change({ full_sun }) }),
    choices({
      legend: t("briefing.workload"),
      options: WORKLOADS.map((code) => ({ value: code, label: t(`briefing.${code}`), help: t(`briefing.${code}_help`) })),
      value: value.workload,
      onchange: (workload) => change({ workload }),
    }),
  );
}

/** For the command: what was computed, with one decimal. */
export function computedShort(reading) {
  const { heat, cold, work_minutes_per_hour: minutes } = dayComputed(reading);
  return {
    ...(heat && { heat_index_c: round(heat.heat_index_c), felt_c: round(heat.felt_c), heat_band: heat.band }),
    ...(cold && { wind_chill_c: round(cold.wind_chill_c), cold_band: cold.band }),
    ...(given(minutes) && { work_minutes_per_hour: minutes, rest_minutes_per_hour: 60 - minutes }),
  };
}
