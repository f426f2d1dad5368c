// The close-out on one page: hours, material, what was done, review, name.
import { t, tn } from "../core/i18n.js";
import { queue } from "../core/outbox.js";
import { session } from "../core/session.js";
import { state } from "../core/state.js";
import { read } from "../core/work.js";
import { actions, add, button, facts, link, notice, pageHead, section } from "../core/ui.js";
import { hourRows, materialRows, statement } from "./closing.js";
import { batches, numbers } from "./closing_day.js";
import { drafted, live, obstacles, text } from "./closing_forms.js";
import { hoursSection } from "./closing_hours.js";
import { known, sharesOf } from "./closing_known.js";
import { lotsOf, materialSection } from "./closing_material.js";
import { doneSection, restSection } from "./closing_outcome.js";
import { review, whyLarge } from "./closing_review.js";
import { retold, sharesKept, standingClose } from "./closing_told.js";
import { owed } from "./records_fill.js";
import { openOf } from "./records_words.js";

export async function closingPage(root, id, app, { isAmending }) {
  const order = state.orders.get(id);
  const [kept, mixed, records] = await Promise.all([read(`order/${id}`, {}), batches(), read("records", {})]);
  const closed = standingClose(order, kept);
  add(root, pageHead(t(isAmending ? "close.amend_title" : "close.title", { number: order.number }), `/order/${id}`));
  if (closed && !isAmending) return void add(root, already(order, closed));
  if (!closed && isAmending) return void add(
    root,
    notice(t("close.not_closed")),
    link(t("close.to_close"), `/order/${id}/close`, { main: true }),
  );
  const told = isAmending ? retold(closed) : null;
  const facts_ = await known(order, told?.hours.map((row) => row.day));
  const form = await drafted(isAmending ? `amend/${closed.id}` : `close/${id}`, () => begun(order, kept, facts_, told));
  if (!isAmending) refresh(form.draft, order, facts_, mixed);
  const page = { order, app, isAmending, told: closed, facts: facts_, open: openOf(order, owed(mixed), records), ...form };
  const sharesTold = isAmending && closed !== kept.close ? told.shares : [];
  page.shares = () => sharesKept(sharesTold, form.draft.hours, sharesOf(order, form.draft.hours, facts_, numbers()));
  const [reviewed, redrawReview] = live(() => [review(page, page.shares()), whyLarge(page, page.shares())]);
  const [foot, redrawFoot] = live(() => footOf(page));
  page.keep = (values = {}) => {
    Object.assign(form.draft, values);
    form.save();
    redrawFoot();
  };
  page.changed = (values = {}) => {
    page.keep(values);
    redrawReview();
  };
  add(root, running(page), hoursSection(page), materialSection(page), doneSection(page), restSection(page));
  add(root, reviewed, section(t("close.name_title"), naming(page)), foot);
}

function begun(order, kept, found, told) {
  const progress = kept.progress ?? {};
  const outcomes = order.work.map(({ prescription }) => ({
    prescription,
    percent_complete: progress[prescription]?.percent ?? null,
    stems_cut: progress[prescription]?.stems_cut ?? null,
    area_done_m2: progress[prescription]?.area_done_m2 ?? null,
    drawn: progress[prescription]?.drawn ?? null,
  }));
  const fresh = {
    split: null,
    outcomes,
    weather: found.weather,
    condition: "",
    followUp: false,
    why: "",
    notes: "",
    confirmedBy: session.name,
    reason: "",
  };
  if (!told) return { ...fresh, hours: [], materials: [] };
  const { shares, ...stated } = told;
  return { ...fresh, ...stated };
}

/** What nobody has touched follows the timers and the mixes, also after the draft was begun. */
function refresh(draft, order, found, mixed) {
  const now = hourRows(order, found);
  const isSame = (one, row) => ["person", "visit", "day"].every((name) => one[name] === row[name]);
  const touched = (row) => draft.hours.find((one) => one.isTouched && isSame(one, row));
  const extra = draft.hours.filter((one) => one.isTouched && !now.some((row) => isSame(one, row)));
  draft.hours = [...now.map((row) => touched(row) ?? row), ...extra];
  draft.materials = [
    ...materialRows(order, Object.values(mixed)),
    ...draft.materials.filter((one) => one.origin === "typed"),
  ];
}

function running({ order, facts: found }) {
  const still = found.spans.filter((span) => span.order === order.id && span.minutes === null);
  if (!still.length) return null;
  return notice(tn("close.still_running", still.length), "caution");
}

function already(order, { statement: stated, summary }) {
  const links = [link(t("close.amend"), `/order/${order.id}/amend`), link(t("close.to_today"), "/", { main: true })];
  return [
    notice(t("close.done", { name: stated.confirmed_by }), "good"),
    summary ? section(t("close.review"), facts(summary)) : null,
    actions(links),
  ];
}

function footOf(page) {
  const { draft, isAmending } = page;
  const wrong = [
    ...(draft.outcomes.every((one) => one.percent_complete !== null) ? [] : [t("close.wrong_percent")]),
    ...(draft.confirmedBy.trim() ? [] : [t("close.wrong_name")]),
    ...(!isAmending || draft.reason.trim() ? [] : [t("close.wrong_reason")]),
  ];
  const label = t(isAmending ? "close.confirm_amend" : "close.confirm");
  return [
    obstacles(wrong),
    actions(button(label, () => saved(page, page.shares()), { main: true, disabled: wrong.length > 0 })),
  ];
}

function naming({ draft, isAmending, keep }) {
  const name = text(
    t("close.confirmed_by"),
    draft.confirmedBy,
    (confirmedBy) => keep({ confirmedBy }),
    { maxlength: 120 },
  );
  return [
    isAmending ? text(t("close.reason"), draft.reason, (reason) => keep({ reason }), { maxlength: 300 }) : null,
    name,
  ];
}

async function saved(page, shares) {
  const { order, draft, isAmending, drop, app } = page;
  const id = crypto.randomUUID();
  const happenedAt = new Date().toISOString();
  const days = draft.hours.filter((one) => one.minutes > 0).map((one) => one.day);
  const workDate = days.sort().at(-1) ?? page.facts.days.at(-1);
  const body = statement({ ...draft, shares, notes: notesOf(draft) }, { id, workDate, happenedAt });
  if (isAmending) body.reason = draft.reason.trim();
  const used = new Set(body.materials.map((row) => row.lot));
  const lots = lotsOf(page).filter((lot) => used.has(lot.id));
  const close = { id, statement: body, lots, hours: draft.hours, summary: page.summary };
  const write = ["work", `order/${order.id}`, (kept) => ({ ...kept, close })];
  await queue(isAmending ? "amend-order" : "close-order", body, { order: order.id, writes: [write, drop] });
  if (app.path.endsWith("/close")) app.again();
  else app.go(`/order/${order.id}/close`);
}

/** What has no field of its own in the statement is told in its notes. */
function notesOf({ notes, why, materials }) {
  const unknown = materials.filter((one) => !one.lot && Number(one.value) > 0);
  const lots = unknown.map(
    (one) => t("close.note_lot", { product: one.product, value: one.value, unit: one.unit, lot: one.lot_text || "?" }),
  );
  return [why.trim() ? t("close.note_why", { why: why.trim() }) : "", ...lots, notes.trim()].filter(Boolean).join("\n");
}
