// The end of a day with herbicide: what was mixed went somewhere, and where is told.
import { number, t, tn, volume } from "../core/i18n.js";
import { queue } from "../core/outbox.js";
import { state } from "../core/state.js";
import { read } from "../core/work.js";
import { actions, add, button, facts, h, link, notice, pageHead, section, stepper } from "../core/ui.js";
import { batches, batchWrite } from "../parts/closing_day.js";
import { drafted, live, quantity, text } from "../parts/closing_forms.js";
import { checksOf, lastOf } from "../parts/limits_words.js";
import { balance, isBalanced, standing } from "../parts/mixes.js";
import { draftKey as keptAs } from "../parts/work_kept.js";
import { batchName } from "../parts/mixes_words.js";
import { workDay } from "../parts/timers_kept.js";

export async function render(root, params, app) {
  const rows = Object.values(await batches()).map(
    (batch) => ({ batch, day: workDay(state.sites.get(batch.site)) }),
  );
  const drafts = await Promise.all(rows.map(({ batch, day }) => draftOf(batch, day)));
  const isDue = ({ batch, day }, place) => (balance(batch, day).end ? drafts[place]?.replaces : balance(batch, day).begun > 0);
  const due = rows.filter(isDue);
  const done = rows.filter((row) => balance(row.batch, row.day).end && !due.includes(row));
  const sheets = await Promise.all(due.map((row) => sheet(row, app)));
  add(
    root,
    pageHead(t("mix.day_end"), "/mixes"),
    notice(t("dayend.advice"), "caution"),
    await endUnchecked(rows),
    due.length ? sheets : notice(t("dayend.nothing"), done.length ? "good" : ""),
    done.map(({ batch, day }) => ended(batch, day, app)),
    actions(link(t("record.all"), "/records", { main: !due.length })),
  );
}

/** Weather is measured at the end of a use, too: who forgot is reminded while it can still be told. */
async function endUnchecked(rows) {
  const used = rows.flatMap(
    ({ batch, day }) => standing(batch.applications ?? []).filter((one) => one.work_date === day).map((one) => [one.order, day]),
  );
  const orders = [...new Map(used)].map(([id, day]) => ({ order: state.orders.get(id), day })).filter(({ order }) => order);
  const checks = await Promise.all(orders.map(({ order, day }) => checksOf(order, day)));
  return orders.filter((_, place) => !lastOf(checks[place], "end")).map(({ order }) => {
    const said = t("dayend.no_end_check", { number: order.number });
    return notice(h("div", {}, said, link(t("spray.title"), `/weather/${order.id}`)), "caution");
  });
}

const draftKey = (batch, day) => `day-end/${batch.id}/${day}`;
const draftOf = (batch, day) => read(keptAs(draftKey(batch, day)));

/** Nothing is known of where the rest went, so nothing of it is filled in. */
const begun = (batch) => ({
  carried_over_ul: 0,
  disposed_ul: 0,
  container: batch.container,
  how_disposed: "",
  rinsate: "",
  empties: 0,
  empties_note: "",
  replaces: null,
});

async function sheet({ batch, day }, app) {
  const form = await drafted(draftKey(batch, day), () => begun(batch));
  const { draft, save } = form;
  const now = balance(batch, day);
  const [sum, redrawSum] = live(() => summed(now, draft));
  const changed = (values) => {
    Object.assign(draft, values);
    save();
    redrawSum();
  };
  const rest = (name, other) => () => {
    changed({ [name]: Math.max(0, now.rest), [other]: 0 });
    app.again();
  };
  const amount = (name) => quantity("volume", {
    label: t(`dayend.${name}`),
    near: Math.max(now.rest, 1),
    value: draft[name],
    onchange: (ul) => changed({ [name]: ul ?? 0 }),
  });
  const line = (name, most) => text(
    t(`dayend.${name}`),
    draft[name],
    (value) => changed({ [name]: value }),
    { maxlength: most },
  );
  const name = batchName(batch);
  return section(
    name,
    h(
      "div",
      { class: "row" },
      button(t("dayend.all_carried"), rest("carried_over_ul", "disposed_ul")),
      button(t("dayend.all_disposed"), rest("disposed_ul", "carried_over_ul")),
    ),
    amount("carried_over_ul"),
    amount("disposed_ul"),
    line("container", 60),
    line("how_disposed", 200),
    line("rinsate", 200),
    stepper({
      label: t("dayend.empties"),
      value: draft.empties,
      shown: (n) => tn("dayend.empties_n", n),
      onchange: (empties) => changed({ empties }),
    }),
    line("empties_note", 200),
    sum,
    button(t("dayend.save"), () => saved(batch, day, form, app), {
      main: true,
      "aria-label": t("dayend.save_of", { name }),
    }),
  );
}

function summed(now, draft) {
  const rest = now.begun - now.used - draft.carried_over_ul - draft.disposed_ul;
  const told = t("dayend.sum", {
    begun: volume(now.begun),
    used: volume(now.used),
    carried: volume(draft.carried_over_ul),
    disposed: volume(draft.disposed_ul),
  });
  const isEven = isBalanced(now.begun, rest);
  const word = isEven ? t("dayend.even") : t(
    rest > 0 ? "dayend.missing" : "dayend.too_much",
    { amount: volume(Math.abs(rest)) },
  );
  const hints = [
    draft.carried_over_ul && !draft.container.trim() ? t("dayend.no_label") : "",
    draft.disposed_ul && !draft.how_disposed.trim() ? t("dayend.no_how") : "",
  ].filter(Boolean);
  return h(
    "div",
    { role: "status" },
    h("p", { class: "sum" }, told),
    notice(word, isEven ? "good" : "caution"),
    hints.map((hint) => notice(hint, "caution")),
  );
}

function ended(batch, day, app) {
  const { end, ...now } = balance(batch, day);
  const again = async () => {
    const form = await drafted(draftKey(batch, day), () => ({}));
    Object.assign(form.draft, begun(batch), end, { replaces: end.id });
    await form.save();
    app.again();
  };
  const rows = [
    [t("mix.used_today"), volume(now.used)],
    [t("dayend.carried_over_ul"), volume(now.carried)],
    [t("dayend.disposed_ul"), volume(now.disposed)],
    [t("dayend.empties"), number(end.empties)],
  ];
  return section(
    batchName(batch),
    facts(rows),
    button(t("apply.correct"), again, { "aria-label": t("apply.correct_of", { patch: batchName(batch) }) }),
  );
}

async function saved(batch, day, { draft, drop }, app) {
  const { carried_over_ul, disposed_ul, container, how_disposed, rinsate, empties, empties_note, replaces } = draft;
  const body = {
    id: crypto.randomUUID(),
    batch: batch.id,
    work_date: day,
    carried_over_ul,
    disposed_ul,
    container,
    how_disposed,
    rinsate,
    empties,
    empties_note,
    ...(replaces ? { replaces } : {}),
  };
  await queue(
    "mix-day-end",
    body,
    { writes: [batchWrite(batch, (one) => ({ ...one, ends: [...(one.ends ?? []), body] })), drop] },
  );
  app.again();
}
