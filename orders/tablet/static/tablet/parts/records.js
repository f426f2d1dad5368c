// Application records that are owed: one for each mix, place, day and responsible applicator.
import { grouped } from "./daysheet.js";
import { inUnit, isVolume, rounded, small, standing } from "./mixes.js";

const DAY_MS = 24 * 3600 * 1000;
export const DEFAULT_PROFILE = { required: [], if_applicable: [], counts: "same_day", days: 0 };

export const keyOf = ({ batch, site, work_date, responsible }) => [batch, site, work_date, responsible].join("_");

// `batches`: {id: batch with its applications}. Each group: what was applied, from when to when.
export function groups(batches) {
  const rows = Object.values(batches).flatMap(
    (batch) => standing(batch.applications ?? []).map((one) => ({ ...one, batch: batch.id })),
  );
  return [...grouped(rows, keyOf)].map(([key, applications]) => ({
    key,
    batch: applications[0].batch,
    site: applications[0].site,
    work_date: applications[0].work_date,
    responsible: applications[0].responsible,
    applications,
    started_at: applications.map((one) => one.started_at).sort()[0],
    ended_at: applications.map((one) => one.ended_at).sort().at(-1),
  }));
}

const isoDay = (date) => date.toISOString().slice(0, 10);
const isWeekend = (date) => [0, 6].includes(date.getUTCDay());

// The last day of the term, without holidays, which only make it later: the office counts those.
export function dueOn({ counts, days }, workDate) {
  const date = new Date(`${workDate}T00:00:00Z`);
  if (counts === "days") return isoDay(new Date(date.getTime() + days * DAY_MS));
  let left = counts === "business_days" ? days : 0;
  while (left > 0) {
    date.setTime(date.getTime() + DAY_MS);
    if (!isWeekend(date)) left -= 1;
  }
  return isoDay(date);
}

const isBlank = (value) => value === null || value === undefined || String(value).trim() === "";
const isEmpty = (value) => (typeof value === "object" && value !== null ? Object.values(value).every(isEmpty) : isBlank(value));

/** What is asked for here: what the rules require, and what they ask for where it applies and it is known to. */
export function wanted(profile, { isDiluted, hasOthers }) {
  const applies = {
    location: true,
    area_treated: true,
    end_time: true,
    applicator: true,
    equipment: true,
    rate: isDiluted,
    noncertified_applicator: hasOthers,
  };
  return [...(profile.required ?? []), ...(profile.if_applicable ?? []).filter((code) => applies[code])];
}

/** `herbicides`: those of the products that must have a registration number. */
export function missing(codes, values, products = [], herbicides = products) {
  const lacks = (code) => {
    const value = values[code];
    if (code === "wind") return isBlank(value?.speed_m_s) || (value.speed_m_s !== 0 && isBlank(value.from_deg));
    if (code === "area_treated") return !(Number(value?.value) > 0);
    if (code === "registration_number") return herbicides.some((product) => isEmpty(value?.[product]));
    if (BY_PRODUCT.has(code)) return products.some((product) => isEmpty(value?.[product]));
    return isEmpty(value);
  };
  return codes.filter(lacks);
}

const BY_PRODUCT = new Set(["product", "amount", "rate"]);

// Product as packaged that went out of one mix, in the unit that was typed.
export function amounts(batch, applications) {
  const share = applications.reduce((sum, one) => sum + one.volume_ul, 0) / batch.volume_ul;
  const rows = batch.parts.map(
    (part) => [part.product, { value: String(rounded(Number(part.value) * share, 4)), unit: part.unit }],
  );
  return Object.fromEntries(rows);
}

// Percent by volume of what is poured; of what is weighed, grams in a liter of mix.
export function rates(batch) {
  const rate = (part) => {
    if (isVolume(part.unit)) return `${((small(part.value, part.unit) / batch.volume_ul) * 100).toFixed(2)}%`;
    return `${((inUnit(small(part.value, part.unit), "g") * 1e6) / batch.volume_ul).toFixed(2)} g/L`;
  };
  return Object.fromEntries(batch.parts.map((part) => [part.product, rate(part)]));
}

const M2 = { acre: 4046.8564224, ft2: 0.09290304 };
const LEAST_ACRES = 0.1;

/** As records state it: acres, and square feet where that says more. */
export function areaStated(m2) {
  if (m2 >= LEAST_ACRES * M2.acre) return { value: (m2 / M2.acre).toFixed(3), unit: "acre" };
  return { value: (m2 / M2.ft2).toFixed(0), unit: "ft2" };
}

export const areaRead = (stated) => (stated ? Number(stated.value) * (M2[stated.unit] ?? 1) : null);

/** Of all uses, or not known where one of them does not tell. */
export function areaOf(applications) {
  const all = applications.map((one) => one.area_m2);
  return all.some((area) => area === null || area === undefined) ? null : all.reduce((sum, area) => sum + area, 0);
}
