// What was done on each patch, how it was found, and what is wanted next.
import { number, speed, t, temperature } from "../core/i18n.js";
import { button, facts, field, h, section, slider, textArea, toggle } from "../core/ui.js";
import { live, text } from "./closing_forms.js";

const STEP_PERCENT = 5;

export function doneSection(page) {
  const { draft, order, changed } = page;
  const [box, redraw] = live(() => draft.outcomes.map((row) => patchRow(page, row)));
  const all = button(t("close.all_done"), () => {
    for (const row of draft.outcomes) row.percent_complete = 100;
    changed();
    redraw();
  });
  return section(t("close.patches"), order.work.length > 1 ? all : null, box);
}

function patchRow({ order, changed }, row) {
  const work = order.work.find((one) => one.prescription === row.prescription);
  const name = [work.patch_code, work.patch_name].filter(Boolean).join(" ");
  const [box, redraw] = live(() => {
    const shown = (n) => (row.percent_complete === null ? t("close.not_told") : t("close.percent", { n: number(n) }));
    const put = (percent_complete) => {
      row.percent_complete = percent_complete;
      changed();
    };
    const whole = button(t("close.done_whole"), () => {
      put(100);
      redraw();
    }, { "aria-label": t("close.done_whole_of", { patch: name }) });
    return [slider({ label: name, value: row.percent_complete ?? 0, step: STEP_PERCENT, shown, onchange: put }), whole];
  });
  return h("div", { class: "patch-row" }, box);
}

export function restSection({ draft, changed, keep }) {
  const { air_temperature_c: warm, wind_m_s: wind } = draft.weather;
  const measured = [
    ...(warm === undefined ? [] : [[t("spray.temperature"), temperature(warm)]]),
    ...(wind === undefined ? [] : [[t("spray.wind"), speed(wind)]]),
  ];
  return section(
    t("close.rest"),
    text(t("close.condition"), draft.condition, (condition) => keep({ condition }), {
      maxlength: 200,
      help: t("close.condition_help"),
    }),
    toggle({ label: t("close.follow_up"), checked: draft.followUp, onchange: (followUp) => changed({ followUp }) }),
    measured.length ? facts(measured) : null,
    text(
      t("close.weather_notes"),
      draft.weather.notes,
      (notes) => keep({ weather: { ...draft.weather, notes } }),
      { maxlength: 400 },
    ),
    field({
      label: t("close.notes"),
      control: textArea({ value: draft.notes, maxlength: 3000, onchange: (notes) => keep({ notes }) }),
    }),
  );
}
