// Words, numbers and dates in the language of whoever uses the tablet.

import TABLE from "../messages/index.js";

const DEFAULT = "en";
const TAGS = { en: "en-US", es: "es-US" };
const SQUARE_M_PER_ACRE = 4046.8564224;
const SQUARE_M_PER_SQUARE_FOOT = 0.09290304;
const UL_PER_GALLON = 3_785_411.784;
const FLUID_OUNCES_PER_GALLON = 128;
const METER_PER_MILE = 1609.344;
const FAR_MS = 180 * 24 * 3600 * 1000;

export const LANGUAGES = ["en", "es"];
export let language = DEFAULT;
let units = "us";

export function languageSet(code) {
  language = LANGUAGES.includes(code) ? code : DEFAULT;
  document.documentElement.lang = language;
}

export function unitsSet(code) {
  units = code;
}

function words(key) {
  const row = TABLE[key];
  if (!row) throw new Error(`no message ${key}`);
  return row[language];
}

function filled(text, vars) {
  return text.replace(/\{(\w+)\}/g, (whole, name) => (name in vars ? String(vars[name]) : whole));
}

export function t(key, vars = {}) {
  return filled(words(key), vars);
}

/** With a plural: {n} is the count. */
export function tn(key, count, vars = {}) {
  const forms = words(key);
  const form = forms[new Intl.PluralRules(TAGS[language]).select(count)] ?? forms.other;
  return filled(form, { n: number(count), ...vars });
}

export function has(key) {
  return key in TABLE;
}

export function number(value, digits = 0) {
  return new Intl.NumberFormat(TAGS[language], { maximumFractionDigits: digits }).format(value);
}

/** A plan's local date in short: no clock and no time zone may shift it. With its year where that is not plain. */
export function day(isoDate) {
  const noon = new Date(`${isoDate}T12:00:00Z`);
  const isFar = Math.abs(noon - Date.now()) > FAR_MS;
  const form = { weekday: "short", month: "short", day: "numeric", timeZone: "UTC", ...(isFar && { year: "numeric" }) };
  return new Intl.DateTimeFormat(TAGS[language], form).format(noon);
}

/** A local date with its year. */
export function date(isoDate) {
  const form = { year: "numeric", month: "long", day: "numeric", timeZone: "UTC" };
  return new Intl.DateTimeFormat(TAGS[language], form).format(new Date(`${isoDate}T12:00:00Z`));
}

export function clock(iso, timeZone = undefined) {
  return new Intl.DateTimeFormat(TAGS[language], { hour: "numeric", minute: "2-digit", timeZone }).format(new Date(iso));
}

export function dayClock(iso, timeZone = undefined) {
  const form = { month: "short", day: "numeric", hour: "numeric", minute: "2-digit", timeZone };
  return new Intl.DateTimeFormat(TAGS[language], form).format(new Date(iso));
}

/** How long ago, in the biggest whole unit. */
export function age(iso, now = Date.now()) {
  const minutes = Math.max(0, Math.round((now - Date.parse(iso)) / 60_000));
  if (minutes < 60) return tn("core.minutes", minutes);
  if (minutes < 48 * 60) return tn("core.hours", Math.floor(minutes / 60));
  return tn("core.days", Math.floor(minutes / (24 * 60)));
}

export function minutes(count) {
  const hours = Math.floor(count / 60);
  const left = Math.round(count % 60);
  return t("core.hours_minutes", { hours: number(hours), minutes: String(left).padStart(2, "0") });
}

export function area(m2) {
  if (units !== "us") return t("core.square_meters", { n: number(m2, m2 < 10 ? 1 : 0) });
  const acres = m2 / SQUARE_M_PER_ACRE;
  if (acres >= 0.1) return t("core.acres", { n: number(acres, 2) });
  return t("core.square_feet", { n: number(m2 / SQUARE_M_PER_SQUARE_FOOT) });
}

export function volume(ul) {
  if (units !== "us") return ul < 1_000_000 ? t("core.ml", { n: number(ul / 1000) }) : t("core.l", { n: number(ul / 1e6, 2) });
  const gallons = ul / UL_PER_GALLON;
  if (gallons >= 1) return t("core.gal", { n: number(gallons, 2) });
  return t("core.fl_oz", { n: number(gallons * FLUID_OUNCES_PER_GALLON, 1) });
}

export function temperature(c) {
  return units === "us" ? t("core.f", { n: number((c * 9) / 5 + 32) }) : t("core.c", { n: number(c) });
}

export function speed(metersPerSecond) {
  if (units !== "us") return t("core.m_s", { n: number(metersPerSecond, 1) });
  return t("core.mph", { n: number((metersPerSecond * 3600) / METER_PER_MILE) });
}

export const isUS = () => units === "us";

const FEET_PER_M = 3.28084;
const FEET_PER_MILE = 5280;
const NEAR_FEET = 1000;

/** Feet and miles, or meters. */
export function distance(meters) {
  if (!isUS()) return t("map.m", { n: number(meters) });
  const feet = meters * FEET_PER_M;
  return feet < NEAR_FEET ? t("map.ft", { n: number(feet) }) : t("map.mi", { n: number(feet / FEET_PER_MILE, 1) });
}
