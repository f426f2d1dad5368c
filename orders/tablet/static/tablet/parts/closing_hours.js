// Hours by person: as timed, else from the estimate and marked so; one slider for a step that nobody timed.
import { day, minutes, number, t } from "../core/i18n.js";
import { add, button, choices, h, section, slider, stepper } from "../core/ui.js";
import { typed } from "./closing.js";
import { nameOf } from "./closing_day.js";
import { live, untouched } from "./closing_forms.js";
import { stepName } from "./work_words.js";

const STEP_MINUTES = 15;
const MARKS = { prefilled: "close.from_estimate", timer: "close.from_timer" };

export function hoursSection(page) {
  const { draft, facts } = page;
  const rows = h("div", { class: "hours" }, draft.hours.map((row) => hourRow(page, row)));
  const several = new Set(draft.hours.map((row) => row.day)).size > 1;
  const others = facts.members.filter((member) => !draft.hours.some((row) => row.person === member.person));
  return section(
    t("close.hours"),
    h("p", { class: "help" }, t(several ? "close.hours_help_days" : "close.hours_help")),
    rows,
    others.length ? adding(page, others, rows) : null,
    stepSlider(page),
  );
}

function hourRow(page, row) {
  const name = nameOf(page.facts.members, row.person);
  const label = page.facts.days.length > 1 ? t("close.hours_of_day", { name, day: day(row.day) }) : name;
  const mark = h("span", { class: "mark" }, MARKS[row.origin] ? untouched(MARKS[row.origin]) : null);
  const put = (value) => {
    Object.assign(row, typed(row, value), { isTouched: true });
    mark.replaceChildren();
    page.changed();
  };
  return h(
    "div",
    { class: "hour-row" },
    h("span", { class: "hour-name" }, label),
    stepper({ label, value: row.minutes, step: STEP_MINUTES, max: 24 * 60, shown: minutes, onchange: put }),
    mark,
  );
}

function adding(page, others, rows) {
  const [visit, date] = [page.order.visits.at(-1), page.facts.days.at(-1)];
  const buttons = others.map((member) =>
    button(t("close.add_person", { name: member.name }), (event) => {
      const row = {
        visit: visit.id,
        day: date,
        person: member.person,
        minutes: 0,
        origin: "typed",
        parts: [],
        isTouched: true,
      };
      page.draft.hours.push(row);
      add(rows, hourRow(page, row));
      event.target.remove();
      page.changed();
    }),
  );
  return h("div", { class: "row" }, buttons);
}

/** The time was taken whole: which part of it one step took is somebody's honest guess, and only if they give it. */
function stepSlider(page) {
  const steps = new Map(
    page.order.work.flatMap((row) => row.steps ?? []).map((step) => [step.code, stepName(step)]),
  );
  if (steps.size < 2) return null;
  const { draft, changed } = page;
  const [box, redraw] = live(() => {
    if (!draft.split) return null;
    const label = t("close.split_of", { step: steps.get(draft.split.step) ?? draft.split.step });
    return slider({
      label,
      value: draft.split.percent,
      step: 5,
      shown: (n) => t("close.percent", { n: number(n) }),
      onchange: (percent) => changed({ split: { ...draft.split, percent } }),
    });
  });
  const options = [
    { value: "", label: t("close.split_none") },
    ...[...steps].map(([value, label]) => ({ value, label })),
  ];
  const chosen = (step) => {
    changed({ split: step ? { step, percent: shareOf(page.order, step) } : null });
    redraw();
  };
  return h(
    "details",
    { class: "drawer" },
    h("summary", {}, t("close.split")),
    h("p", { class: "help" }, t("close.split_help")),
    choices({ legend: t("close.split_step"), options, value: draft.split?.step ?? "", onchange: chosen }),
    box,
  );
}

function shareOf(order, step) {
  const steps = order.work.flatMap((row) => row.steps ?? []);
  const hours = (rows) => rows.reduce((sum, row) => sum + (row.hours ?? 0), 0);
  const all = hours(steps);
  return all > 0 ? Math.round((hours(steps.filter((row) => row.code === step)) / all) * 20) * 5 : 50;
}
