// The parts of the page of an application: people, moments and amounts, and what was entered already.
import { clock, t, tn, volume } from "../core/i18n.js";
import { button, choices, facts, h, notice, section, toggle } from "../core/ui.js";
import { added, live, people, person, quantity } from "./closing_forms.js";
import { standing } from "./mixes.js";
import { batchName } from "./mixes_words.js";

// Stems left longer dry over and take less up: usual advice, not a rule of this label.
const USUAL_MINUTES = 5;

export const minutesFromCut = ({ cut_at, started_at }) => (cut_at && started_at ? (Date.parse(started_at) - Date.parse(cut_at)) / 60_000 : null);
export const isLate = (draft) => (minutesFromCut(draft) ?? 0) > USUAL_MINUTES;

export function whoApplied(page) {
  const { draft, allowed, certified, changed } = page;
  const not = allowed.filter((one) => !one.may);
  const rows = (draft.outside ? allowed : allowed.filter((one) => one.may)).map(
    (one) => ({ ...one, help: helpOf(one, allowed) }),
  );
  const put = (id, isOn) => changed({ people: added(draft.people, id, isOn) });
  return section(
    t("apply.who"),
    rows.length ? people({
      legend: t("apply.people"),
      members: rows,
      chosen: draft.people,
      onchange: put,
    }) : notice(t("apply.nobody_may"), "trouble"),
    not.length ? h(
      "p",
      {},
      t("apply.may_not", { names: not.map((one) => `${one.name} (${t(`who.${one.why}`)})`).join(", ") }),
    ) : null,
    not.length ? toggle({
      label: t("who.outside"),
      help: t("who.outside_help"),
      checked: draft.outside,
      onchange: (isOn) => changed({ outside: isOn }, true),
    }) : null,
    answering({ draft, certified, allowed, changed }),
  );
}

function helpOf(one, allowed) {
  const name = allowed.find((other) => other.person === one.supervisedBy)?.name;
  return name ? t("who.near", { name }) : t(`who.${one.why}`);
}

function answering({ draft, certified, allowed, changed }) {
  const members = draft.outside && !certified.length ? allowed : certified;
  return person({
    legend: t("apply.responsible"),
    members: members.map(({ name, person: id }) => ({ name, person: id })),
    value: draft.responsible,
    onchange: (responsible) => changed({ responsible }),
  });
}

export function moments(page) {
  const { draft, batch, order, site, changed } = page;
  const patch = order.work.find((row) => row.prescription === draft.prescription);
  const hasCut = order.work.some(
    (row) => (row.steps ?? []).some((step) => step.code === "cut"),
  ) || order.mixes?.some((mix) => mix.by === "stem");
  const put = (name) => (at) => changed({ [name]: at });
  return section(
    t("apply.when"),
    hasCut ? moment(t("apply.cut_at"), draft.cut_at, site.time_zone, put("cut_at")) : null,
    moment(t("apply.started_at"), draft.started_at, site.time_zone, put("started_at")),
    moment(t("apply.ended_at"), draft.ended_at, site.time_zone, put("ended_at")),
    quantity("volume", {
      label: t("apply.volume"),
      near: batch.volume_ul,
      value: draft.volume_ul,
      onchange: put("volume_ul"),
    }),
    quantity("area", {
      label: t("apply.area"),
      near: patch?.infested_area_m2 ?? 0,
      value: draft.area_m2,
      onchange: put("area_m2"),
    }),
  );
}

/** A moment: now by one tap, and back or on by five minutes. */
function moment(label, value, zone, onchange) {
  let now = value;
  const [box, redraw] = live(() => {
    const move = (by) => () => set(new Date(Date.parse(now) + by * 60_000).toISOString());
    const back = button(t("apply.earlier"), move(-5), {
      "aria-label": t("apply.earlier_of", { what: label }),
      disabled: !now,
    });
    const on = button(t("apply.later"), move(5), {
      "aria-label": t("apply.later_of", { what: label }),
      disabled: !now,
    });
    const press = button(
      t("apply.now"),
      () => set(new Date().toISOString()),
      { "aria-label": t("apply.now_of", { what: label }) },
    );
    return h(
      "div",
      { class: "moment", role: "group", "aria-label": label },
      h("span", { class: "moment-name" }, label),
      h("output", {}, now ? clock(now, zone) : "–"),
      press,
      back,
      on,
    );
  });
  function set(at) {
    now = at;
    redraw();
    onchange(at);
  }
  return box;
}

export function applied({ order, day, site, changed }, known) {
  const own = Object.values(known).flatMap(
    (batch) => standing(batch.applications ?? []).filter(
      (one) => one.order === order.id && one.work_date === day,
    ).map((one) => ({ batch, one })),
  );
  if (!own.length) return null;
  const rows = own.map(({ batch, one }) => {
    const patch = order.work.find((row) => row.prescription === one.prescription);
    const again = { ...one, batch: batch.id, replaces: one.id, cut_at: null, outside: true };
    const correct = button(
      t("apply.correct"),
      () => changed(again, true),
      { "aria-label": t("apply.correct_of", { patch: patch?.patch_code ?? "" }) },
    );
    return [
      `${batchName(batch)} · ${patch?.patch_code ?? ""}`,
      h(
        "span",
        {},
        `${clock(one.started_at, site.time_zone)} – ${clock(one.ended_at, site.time_zone)} · ${volume(one.volume_ul)} `,
        correct,
      ),
    ];
  });
  return section(tn("apply.done_today", own.length), facts(rows));
}
