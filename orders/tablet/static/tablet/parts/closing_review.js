// The close-out as it will be sent, to be read once more before a name is put to it.
import { day, minutes, number, t, tn } from "../core/i18n.js";
import { choices, facts, h, notice, section } from "../core/ui.js";
import { difference } from "./closing.js";
import { productOf } from "./closing_day.js";
import { total } from "./daysheet.js";
import { dueOn } from "./records.js";
import { profileOf } from "./records_words.js";

const REASONS = ["more_plants", "fewer_plants", "ground", "people", "weather", "part_done", "not_timed", "other"];

export function review(page, shares) {
  const { draft, order, open } = page;
  const on = total(draft.hours);
  const of = (step) => total(shares.filter((row) => row.step === step));
  const done = draft.outcomes.filter((row) => row.percent_complete !== null);
  const origins = new Set(draft.hours.filter((row) => row.minutes > 0).map((row) => row.origin));
  const rows = [
    [
      t("close.sum_hours"),
      `${minutes(on)} · ${tn("close.people", new Set(draft.hours.filter((row) => row.minutes > 0).map((row) => row.person)).size)}`,
    ],
    [t("close.sum_drive"), minutes(of("drive"))],
    ...(of("rain") ? [[t("close.sum_rain"), minutes(of("rain"))]] : []),
    [t("close.sum_all"), minutes(on + total(shares))],
    [
      t("close.sum_estimate"),
      t("close.estimate_range", {
        low: hours(order.hours.low),
        likely: hours(order.hours.likely),
        high: hours(order.hours.high),
      }),
    ],
    [
      t("close.patches"),
      done.length ? done.map(
        (row) => `${codeOf(order, row)} ${t("close.percent", { n: number(row.percent_complete) })}`,
      ).join(", ") : t("close.not_told"),
    ],
    ...draft.materials.filter((row) => Number(row.value) > 0).map(
      (row) => [productOf(row.product).name, `${number(row.value, 2)} ${row.unit}`],
    ),
    [t("close.follow_up"), t(draft.followUp ? "close.yes" : "close.no")],
  ];
  page.summary = rows;
  return section(
    t("close.review"),
    origins.has("prefilled") ? notice(t("close.some_from_estimate")) : null,
    facts(rows),
    open.map(
      ({ group, site }) => notice(
        t("close.record_incomplete", { day: day(dueOn(profileOf(site), group.work_date)) }),
        "caution",
      ),
    ),
  );
}

const hours = (value) => number(value, 1);
const codeOf = (order, row) => order.work.find((one) => one.prescription === row.prescription)?.patch_code ?? "";

/** Asked, never blocked: the answer helps the next estimate. */
export function whyLarge({ draft, order, keep }, shares) {
  const found = difference(total(draft.hours) + total(shares), order);
  if (!found.isLarge) return null;
  const told = t(found.more > 0 ? "close.much_more" : "close.much_less", { by: minutes(Math.abs(found.more)) });
  const options = REASONS.map((code) => ({ value: t(`close.why_${code}`), label: t(`close.why_${code}`) }));
  return h(
    "div",
    { class: "sheet" },
    notice(told),
    choices({ legend: t("close.why"), options, value: draft.why, onchange: (why) => keep({ why }) }),
  );
}
