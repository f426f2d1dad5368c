// Weather at the start and the end of a use: go, advised against, or no go. Nothing passes a mandatory limit.
import { t } from "../core/i18n.js";
import { queue } from "../core/outbox.js";
import { session } from "../core/session.js";
import { state } from "../core/state.js";
import { actions, add, button, choices, h, notice, pageHead, section } from "../core/ui.js";
import { batches, siteOf } from "../parts/closing_day.js";
import { drafted, live, obstacles, quantity, text } from "../parts/closing_forms.js";
import { findings, verdict } from "../parts/limits.js";
import { checksOf, findingList, verdictNotice, weatherKey } from "../parts/limits_words.js";
import { isOpen } from "../parts/mixes.js";
import { workDay } from "../parts/timers_kept.js";

const PURPOSES = ["start", "during", "end"];
const WINDS = ["calm", "n", "ne", "e", "se", "s", "sw", "w", "nw"];
const MEASURES = [
  ["temperature", "air_temperature_c", "spray.temperature"],
  ["speed", "wind_m_s", "spray.wind"],
  ["speed", "gust_m_s", "spray.gust"],
];

export async function render(root, params, app) {
  const order = state.orders.get(params.order);
  const site = siteOf(order);
  const day = workDay(site);
  const before = await checksOf(order, day);
  const purpose = before.some((one) => one.purpose === "start") ? "end" : "start";
  const form = await drafted(
    `weather/${order.id}`,
    () => ({ purpose, reading: {}, passed_by: session.name, passed_reason: "" }),
  );
  const page = { order, site, day, app, ...form };
  page.pass = passing({ ...page, changed: (values) => page.changed(values) });
  const [foot, redraw] = live(() => judged(page));
  page.changed = (values) => {
    Object.assign(form.draft, values);
    form.save();
    redraw();
  };
  page.read = (values) => page.changed({ reading: { ...form.draft.reading, ...values } });
  add(
    root,
    pageHead(t("spray.for", { number: order.number }), "/mixes"),
    notice(t("mix.law"), "caution"),
    measured(page),
    foot,
  );
}

function measured({ draft, read, changed }) {
  const purposes = PURPOSES.map((value) => ({ value, label: t(`spray.${value}`) }));
  const winds = WINDS.map((value) => ({ value, label: t(`spray.wind_${value}`) }));
  const signs = [true, false].map((value) => ({ value, label: t(value ? "close.yes" : "close.no") }));
  const from = (value) => read({
    wind_from_deg: value === "calm" ? null : WINDS.slice(1).indexOf(value) * 45,
    wind_from: value,
  });
  return section(
    t("spray.measured"),
    choices({
      legend: t("spray.when"),
      options: purposes,
      value: draft.purpose,
      onchange: (purpose) => changed({ purpose }),
    }),
    h(
      "div",
      { class: "measures" },
      MEASURES.map(
        ([kind, name, key]) => quantity(kind, {
          label: t(key),
          value: draft.reading[name],
          onchange: (value) => read({ [name]: value }),
        }),
      ),
    ),
    choices({ legend: t("spray.wind_from"), options: winds, value: draft.reading.wind_from ?? null, onchange: from }),
    h("p", {}, t("spray.inversion_help")),
    choices({
      legend: t("spray.inversion"),
      options: signs,
      value: draft.reading.inversion_signs ?? null,
      onchange: (seen) => read({ inversion_signs: seen }),
    }),
    text(
      t("spray.rain"),
      draft.reading.rain_expected_hours ?? "",
      (value) => read({ rain_expected_hours: hoursRead(value) }),
      { inputmode: "decimal", help: t("spray.rain_help") },
    ),
    text(t("spray.sky"), draft.reading.sky, (sky) => read({ sky }), { maxlength: 60 }),
    text(
      t("spray.humidity"),
      draft.reading.relative_humidity_percent ?? "",
      (value) => read({ relative_humidity_percent: hoursRead(value) }),
      { inputmode: "decimal" },
    ),
  );
}

function hoursRead(value) {
  const read = Number(value.replace(",", "."));
  return value.trim() === "" || !Number.isFinite(read) || read < 0 ? null : read;
}

function passing({ draft, changed }) {
  return section(
    t("spray.pass"),
    text(
      t("spray.passed_reason"),
      draft.passed_reason,
      (value) => changed({ passed_reason: value }),
      { maxlength: 300, help: t("spray.pass_help") },
    ),
    text(t("spray.passed_by"), draft.passed_by, (value) => changed({ passed_by: value }), { maxlength: 120 }),
  );
}

/** What comes after a check that stands. */
async function nextPath(order, purpose, day) {
  if (purpose === "end") return "/day-end";
  const isMixed = Object.values(await batches()).some((batch) => batch.site === order.site && isOpen(batch, day));
  return isMixed ? `/apply/${order.id}` : `/mix/${order.id}`;
}

const isPassed = (draft, said) => said === "advised_against" && draft.passed_reason.trim() !== "" && draft.passed_by.trim() !== "";

function judged(page) {
  const { order, draft, pass } = page;
  const found = findings(order.label, draft.reading);
  const said = verdict(found);
  pass.hidden = said !== "advised_against" || draft.purpose === "end";
  const isNameless = !pass.hidden && draft.passed_reason.trim() && !draft.passed_by.trim();
  const isMeasured = MEASURES.some(([, name]) => typeof draft.reading[name] === "number");
  const wrong = [...(isMeasured ? [] : [t("spray.wrong_nothing")]), ...(isNameless ? [t("spray.wrong_name")] : [])];
  const save = button(t("spray.save"), () => saved(page, said), { main: true, disabled: wrong.length > 0 });
  if (!isMeasured) return [obstacles(wrong), actions(save)];
  return [verdictNotice(said), findingList(found), obstacles(wrong), pass, actions(save)];
}

async function saved({ order, site, day, draft, drop, app }, said) {
  const { wind_from, ...reading } = draft.reading;
  const body = {
    id: crypto.randomUUID(),
    site: site.id,
    work_date: day,
    purpose: draft.purpose,
    ...reading,
    ...(isPassed(draft, said) ? { passed_by: draft.passed_by.trim(), passed_reason: draft.passed_reason.trim() } : {}),
  };
  const kept = { ...body, order: order.id, verdict: said, at: new Date().toISOString(), wind_from };
  await queue("weather-check", body, {
    order: order.id,
    writes: [["work", weatherKey(day), (rows) => [...(rows ?? []), kept]], drop],
  });
  app.go(said === "no_go" ? "/mixes" : await nextPath(order, draft.purpose, day));
}
