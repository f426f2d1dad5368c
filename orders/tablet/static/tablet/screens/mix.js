// A new batch: what goes in, by whom, and how its container is labeled.
import { t, volume } from "../core/i18n.js";
import { queue } from "../core/outbox.js";
import { session } from "../core/session.js";
import { state } from "../core/state.js";
import { actions, add, button, facts, h, notice, pageHead, section, toggle } from "../core/ui.js";
import { batches, batchWrite, nameOf, present, siteOf } from "../parts/closing_day.js";
import { drafted, live, obstacles, person, text } from "../parts/closing_forms.js";
import { isAlone, outsideMark, outsideNotice } from "../parts/limits_words.js";
import { carrier } from "../parts/mixes.js";
import { loadOf, orderOfMixing, partRows, partsWrong, whatMixed } from "../parts/mixes_form.js";
import { mayMix } from "../parts/mixes_who.js";
import { deviations } from "../parts/strengths.js";
import { workDay } from "../parts/timers_kept.js";

export async function render(root, params, app) {
  const order = state.orders.get(params.order);
  const site = siteOf(order);
  const day = workDay(site);
  const members = await present(order.crew, day);
  const allowed = members.map((member) => ({ ...member, ...mayMix(member, site, day, members) }));
  const label = `${Object.keys(await batches()).length + 1}-${day.slice(5).replace("-", "")}`;
  const form = await drafted(`mix/${order.id}`, () => begun(order, allowed, label));
  const page = { order, site, day, members, allowed, app, ...form };
  const [parts, redrawParts] = live(() => partRows(order, form.draft, () => page.changed({})));
  const [foot, redrawFoot] = live(() => footOf(page));
  page.changed = (values, isWhole = false) => {
    Object.assign(form.draft, values);
    form.save();
    if (isWhole) redrawParts();
    redrawFoot();
  };
  page.anew = (values) => {
    page.changed(values);
    app.again();
  };
  add(
    root,
    pageHead(t("mix.new_for", { number: order.number }), "/mixes"),
    notice(t("mix.law"), "caution"),
    whatMixed(page),
    section(t("mix.goes_in"), parts),
    orderOfMixing(page),
    whoMixed(page),
    container(page),
    foot,
  );
}

function begun(order, allowed, label) {
  const mix = order.mixes[0];
  const may = allowed.filter((one) => one.may);
  const own = may.find((one) => one.person === session.person) ?? (may.length === 1 ? may[0] : null);
  return {
    ...loadOf(order, mix),
    mixed_by: own?.person ?? null,
    supervised_by: own?.supervisedBy ?? null,
    outside: false,
    deviation: "",
    container: label,
    isProtected: false,
    notes: "",
  };
}

function whoMixed(page) {
  const { draft, allowed, members } = page;
  const not = allowed.filter((one) => !one.may);
  const options = (draft.outside ? allowed : allowed.filter((one) => one.may)).map(
    (one) => ({ ...one, help: t(`who.${one.why}`) }),
  );
  const chosen = (id) => page.changed({
    mixed_by: id,
    supervised_by: allowed.find((one) => one.person === id).supervisedBy,
  });
  return section(
    t("mix.who"),
    options.length ? person({
      legend: t("mix.mixed_by"),
      members: options,
      value: draft.mixed_by,
      onchange: chosen,
    }) : notice(t("mix.nobody_may"), "trouble"),
    not.length ? h(
      "p",
      {},
      t("mix.may_not", { names: not.map((one) => `${one.name} (${t(`who.${one.why}`)})`).join(", ") }),
    ) : null,
    not.length || isAlone(members) ? toggle({
      label: t("who.outside"),
      help: t("who.outside_help"),
      checked: draft.outside,
      onchange: (isOn) => page.anew({ outside: isOn }),
    }) : null,
  );
}

function container({ draft, changed }) {
  return section(
    t("mix.container_title"),
    text(t("mix.container"), draft.container, (value) => changed({ container: value }), {
      help: t("mix.container_help"),
      maxlength: 60,
    }),
    text(t("close.notes"), draft.notes, (value) => changed({ notes: value }), { maxlength: 400 }),
    toggle({
      label: t("mix.protected"),
      checked: draft.isProtected,
      onchange: (isOn) => changed({ isProtected: isOn }),
    }),
  );
}

/** By each method that the mix is for; where the order names none of them, by each herbicide method on it. */
function outsideOf({ order, draft }) {
  const code = order.mixes.find((one) => one.id === draft.mix)?.code;
  const rows = order.work.filter((row) => row.method?.uses_herbicide !== false);
  const fitting = rows.filter((row) => row.mix === code);
  const methods = [...new Set((fitting.length ? fitting : rows).map((row) => row.method.code))];
  const { parts, volume_ul } = draft;
  const found = methods.flatMap((method) => deviations(order.label, state.products, { parts, volume_ul, method }));
  return found.filter((one, place) => found.findIndex((other) => other.code === one.code && other.product === one.product) === place);
}

function footOf(page) {
  const { draft, members } = page;
  const found = outsideOf(page);
  const mark = outsideMark(0, found);
  const wrong = [
    ...(draft.volume_ul ? [] : [t("mix.wrong_volume")]),
    ...partsWrong(draft.parts),
    ...(draft.mixed_by ? [] : [t("mix.wrong_who")]),
    ...(draft.container.trim() ? [] : [t("mix.wrong_container")]),
    ...(draft.isProtected ? [] : [t("mix.wrong_protected")]),
    ...(isAlone(members) && !draft.outside ? [t("mix.alone")] : []),
    ...(found.length && draft.deviation !== mark ? [t("mix.wrong_outside")] : []),
  ];
  const supervisor = nameOf(members, draft.supervised_by);
  const told = [
    [t("mix.carrier"), volume(carrier(draft.volume_ul ?? 0, draft.parts))],
    ...(supervisor ? [[t("mix.supervised_by"), supervisor]] : []),
  ];
  return [
    facts(told),
    outsideNotice({
      found,
      help: t("mix.outside_help"),
      press: t("mix.was_mixed"),
      pressed: t("mix.is_outside"),
      isSaid: draft.deviation === mark,
      onsay: () => page.changed({ deviation: mark }),
    }),
    obstacles(wrong),
    actions(button(t("mix.save"), () => saved(page), { main: true, disabled: wrong.length > 0 })),
  ];
}

async function saved({ order, site, day, draft, drop, app }) {
  const body = {
    id: crypto.randomUUID(),
    crew: order.crew,
    site: site.id,
    work_date: day,
    mix: draft.mix,
    mixed_by: draft.mixed_by,
    supervised_by: draft.supervised_by,
    carrier_ul: carrier(draft.volume_ul, draft.parts),
    volume_ul: draft.volume_ul,
    container: draft.container.trim(),
    notes: draft.notes.trim(),
    parts: draft.parts.map(
      ({ product, lot, lot_text, value, unit }) => ({
        product,
        lot: lot || null,
        lot_text: lot ? "" : lot_text,
        value: String(value),
        unit,
      }),
    ),
  };
  const kept = { ...body, order: order.id, applications: [], ends: [] };
  await queue("mix-batch", body, { order: order.id, writes: [batchWrite(kept, () => kept), drop] });
  app.go(`/batch/${body.id}`);
}
