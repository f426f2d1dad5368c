// The fields of a record: what the day's facts tell is shown, the rest is asked for.
import { day, number, t } from "../core/i18n.js";
import { field, select } from "../core/ui.js";
import { productOf } from "./closing_day.js";
import { quantity, text } from "./closing_forms.js";
import { areaRead, areaStated } from "./records.js";

const TEXTS = [
  "requester",
  "location",
  "use_site",
  "target_pest",
  "applicator",
  "license_number",
  "noncertified_applicator",
  "equipment",
  "label_required",
];
const WIND = ["n", "ne", "e", "se", "s", "sw", "w", "nw"];

const nameOf = (page, code) => t(
  page.asked.includes(code) ? "record.required" : "record.optional",
  { field: t(`record.field_${code}`) },
);

/** Times and amounts come from the mix and its uses, and are corrected there. */
export function told({ facts, batch, site }, clock) {
  const rows = [
    [t("record.field_date"), day(facts.date)],
    [t("record.field_start_time"), clock(facts.start_time, site.time_zone)],
    [t("record.field_end_time"), clock(facts.end_time, site.time_zone)],
  ];
  const products = batch.parts.map((part) => {
    const amount = facts.amount[part.product];
    const registered = facts.registration_number[part.product];
    const words = [
      registered,
      `${number(Number(amount.value), 2)} ${amount.unit}`,
      facts.rate[part.product],
    ].filter(Boolean).join(" · ");
    return [productOf(part.product).name, words];
  });
  return [...rows, ...products];
}

export function editable(page) {
  const values = { ...page.facts, ...page.draft.values };
  const asked = (code) => page.asked.includes(code) || values[code] !== undefined;
  const lines = TEXTS.filter((code) => asked(code) || code === "equipment").map((code) =>
    text(nameOf(page, code), values[code] ?? "", (value) => page.put(code, value), { maxlength: 400 }),
  );
  const language = page.asked.includes("language") ? text(
    nameOf(page, "language"),
    values.language ?? "",
    (value) => page.put("language", value),
    { maxlength: 40 },
  ) : null;
  return [lines, language, area(page, values), weather(page, values), numbers(page, values)];
}

function area(page, values) {
  const m2 = areaRead(values.area_treated);
  const put = (value) => page.put("area_treated", value ? areaStated(value) : null);
  return quantity("area", { label: nameOf(page, "area_treated"), near: m2 ?? Infinity, value: m2, onchange: put });
}

function weather(page, values) {
  const wind = values.wind ?? { speed_m_s: null, from_deg: null };
  const now = { ...wind };
  const put = (change) => page.put("wind", Object.assign(now, change).speed_m_s === null ? null : { ...now });
  const options = [
    { value: "", label: t("record.no_direction") },
    ...WIND.map((value, place) => ({ value: String(place * 45), label: t(`spray.wind_${value}`) })),
  ];
  const from = select({
    options,
    value: wind.from_deg === null ? "" : String(Math.round(wind.from_deg / 45) * 45),
    onchange: (value) => put({ from_deg: value === "" ? null : Number(value) }),
  });
  return [
    quantity("speed", {
      label: nameOf(page, "wind"),
      value: wind.speed_m_s,
      onchange: (value) => put({ speed_m_s: value }),
    }),
    field({ label: t("spray.wind_from"), control: from }),
    quantity("temperature", {
      label: nameOf(page, "air_temperature"),
      value: values.air_temperature ?? null,
      onchange: (value) => page.put("air_temperature", value),
    }),
  ];
}

/** A product's number that this tablet does not know is asked for. */
function numbers(page, values) {
  const known = page.facts.registration_number ?? {};
  const lacking = page.batch.parts.filter(
    (part) => productOf(part.product).is_herbicide !== false && !known[part.product],
  );
  return lacking.map(({ product }) => {
    const label = t("record.number_of", { product: productOf(product).name });
    const put = (value) => page.put("registration_number", {
      ...known,
      ...page.draft.values.registration_number,
      [product]: value,
    });
    return text(label, values.registration_number?.[product] ?? "", put, { maxlength: 40 });
  });
}
