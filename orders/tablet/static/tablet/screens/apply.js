// Mix from one batch put on one patch: who, when, how much.
import { t, volume } from "../core/i18n.js";
import { queue } from "../core/outbox.js";
import { session } from "../core/session.js";
import { state } from "../core/state.js";
import { actions, add, button, choices, h, link, notice, pageHead, section } from "../core/ui.js";
import { applied, moments, whoApplied } from "../parts/mixes_apply.js";
import { judged } from "../parts/mixes_judged.js";
import { batches, batchWrite, present, productOf, siteOf } from "../parts/closing_day.js";
import { drafted, live, obstacles, text } from "../parts/closing_forms.js";
import { checksOf } from "../parts/limits_words.js";
import { balance, isOpen } from "../parts/mixes.js";
import { isCertified, mayApply } from "../parts/mixes_who.js";
import { batchName } from "../parts/mixes_words.js";
import { workDay } from "../parts/timers_kept.js";
import { methodName } from "../parts/work_words.js";

export async function render(root, params, app) {
  const order = state.orders.get(params.order);
  const site = siteOf(order);
  const day = workDay(site);
  const [known, members, checks] = await Promise.all([batches(), present(order.crew, day), checksOf(order, day)]);
  const open = Object.values(known).filter((batch) => batch.site === order.site && isOpen(batch, day));
  const form = await drafted(`apply/${order.id}`, () => begun(order, site, day, open, members));
  const batch = known[form.draft.batch];
  if (!batch) {
    add(root, pageHead(t("apply.title"), "/mixes"), notice(t("apply.no_batch")));
    add(root, actions(link(t("mix.new"), `/mix/${order.id}`, { main: true })));
    return;
  }
  const products = batch.parts.map((part) => productOf(part.product));
  const allowed = members.map((member) => ({ ...member, ...mayApply(member, site, day, members, products) }));
  const certified = members.filter((member) => isCertified(member, site, day));
  const page = {
    order,
    site,
    day,
    batch,
    open,
    members,
    allowed,
    certified,
    checks,
    app,
    ...form,
  };
  const [foot, redraw] = live(() => footOf(page));
  page.changed = (values, isWhole = false) => {
    Object.assign(form.draft, values);
    form.save();
    if (isWhole) app.again();
    else redraw();
  };
  add(
    root,
    pageHead(t("apply.for_order", { number: order.number }), "/mixes"),
    notice(t("mix.law"), "caution"),
    what(page),
    whoApplied(page),
    moments(page),
    applied(page, known),
    foot,
  );
}

function begun(order, site, day, open, members) {
  const own = open.filter((batch) => batch.order === order.id).at(-1) ?? open.at(-1);
  const certified = members.filter((member) => isCertified(member, site, day));
  const mine = certified.find((one) => one.person === session.person) ?? (certified.length === 1 ? certified[0] : null);
  const first = patchesFor(order, own);
  return {
    batch: own?.id ?? null,
    prescription: first.length === 1 ? first[0].prescription : null,
    responsible: mine?.person ?? null,
    people: mine ? [mine.person] : [],
    outside: false,
    deviation: "",
    cut_at: null,
    started_at: null,
    ended_at: null,
    volume_ul: null,
    area_m2: null,
    equipment: "",
    replaces: null,
  };
}

// What the batch is for, where its mix is one of the order's; else all that herbicide is used on.
function patchesFor(order, batch) {
  const mix = order.mixes.find((one) => one.id === batch?.mix)?.code;
  const all = order.work.filter((row) => row.method?.uses_herbicide !== false);
  const fitting = all.filter((row) => row.mix === mix);
  return fitting.length ? fitting : all;
}

const isOther = ({ order, batch, draft }) =>
  Boolean(draft.prescription) && !patchesFor(order, batch).some((row) => row.prescription === draft.prescription);

function what({ draft, order, open, batch, day, changed }) {
  const options = [...open.filter((one) => one.id !== batch.id), batch].map(
    (one) => ({
      value: one.id,
      label: batchName(one),
      help: t("mix.left_is", { amount: volume(balance(one, day).left) }),
    }),
  );
  const patches = order.work.filter((row) => row.method?.uses_herbicide !== false);
  const rows = patches.map(
    (row) => ({ value: row.prescription, label: `${row.patch_code} ${row.patch_name}`, help: row.method ? methodName(row.method) : "" }),
  );
  const place = (prescription) => changed({ prescription });
  return section(
    t("apply.what"),
    options.length > 1 ? choices({
      legend: t("apply.batch"),
      options: options,
      value: batch.id,
      onchange: (id) => changed({ batch: id }, true),
    }) : h("p", {}, `${options[0].label} · ${options[0].help}`),
    rows.length > 1 ? choices({
      legend: t("apply.patch"),
      options: rows,
      value: draft.prescription,
      onchange: place,
    }) : h("p", {}, rows[0]?.label ?? ""),
    text(t("apply.equipment"), draft.equipment, (equipment) => changed({ equipment }), { maxlength: 80 }),
  );
}

function footOf(page) {
  const { wrong, told } = judged(page, isOther(page));
  return [...told, obstacles(wrong), actions(button(t("apply.save"), () => saved(page), { main: true, disabled: wrong.length > 0 }))];
}

async function saved({ order, site, day, batch, draft, drop, app }) {
  const { prescription, responsible, people, started_at, ended_at, volume_ul, area_m2, replaces } = draft;
  const visit = order.visits.find((one) => one.day === day)?.id ?? order.visits[0]?.id ?? null;
  const body = {
    id: crypto.randomUUID(),
    batch: batch.id,
    visit,
    prescription,
    site: site.id,
    work_date: day,
    responsible,
    people,
    started_at,
    ended_at,
    volume_ul,
    area_m2,
    equipment: draft.equipment.trim(),
    minutes_from_cut: draft.cut_at ? Math.max(
      0,
      Math.round((Date.parse(started_at) - Date.parse(draft.cut_at)) / 60_000),
    ) : null,
    ...(replaces ? { replaces } : {}),
  };
  const kept = { ...body, order: order.id };
  const write = batchWrite(batch, (one) => ({ ...one, applications: [...(one.applications ?? []), kept] }));
  await queue("application", body, { order: order.id, happenedAt: ended_at, writes: [write, drop] });
  app.go(`/batch/${batch.id}`);
}
