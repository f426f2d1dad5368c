// All spans of a day, to be put right by hand: each change is a new row that says why.

import { clock, day, minutes, t } from "../core/i18n.js";
import { session } from "../core/session.js";
import { crewPeople, myOrders, person, state } from "../core/state.js";
import { button, choices, drawer, field, h, notice, numberInput, pageHead, section, select, textInput } from "../core/ui.js";
import { isOpen, minutesByPerson, minutesNow } from "../parts/timers.js";
import { fieldDay, spansOf, timerDays, timersStop, timerType } from "../parts/timers_kept.js";
import { orderName, visitOn } from "../parts/work_links.js";

const CODES = ["work", "drive", "shop", "training", "rain", "leave", "repair"];
const MOST_MINUTES = 24 * 60;
const now = () => new Date().toISOString();

const orderWords = (id) => {
  const order = state.orders.get(id);
  return order ? orderName(order, state.sites.get(order.site)) : "";
};

function patchWords(span) {
  return state.orders.get(span.order)?.work.find((row) => row.prescription === span.prescription)?.patch_code ?? "";
}

function spanWords(span) {
  const zone = state.sites.get(state.orders.get(span.order)?.site)?.time_zone;
  const end = span.ended_at ? clock(span.ended_at, zone) : t("time.now");
  const when = span.started_at ? `${clock(span.started_at, zone)} – ${end}` : t("time.typed");
  return [t(`time.code.${span.code}`), orderWords(span.order), patchWords(span), when].filter(Boolean).join(" · ");
}

/** Hours and minutes as two numbers. */
function length(value, onchange) {
  const parts = { hours: Math.floor(value / 60), minutes: Math.round(value % 60) };
  const take = (name) => (typed) => {
    parts[name] = typed ?? 0;
    onchange(Math.round(parts.hours * 60 + parts.minutes));
  };
  const one = (name, max) => field({ label: t(`time.${name}`), control: numberInput({ value: parts[name], min: 0, max, step: 1, onchange: take(name) }) });
  return h("div", { class: "row" }, one("hours", 24), one("minutes", 59));
}

function correction(span, date, app) {
  const typed = { minutes: Math.round(minutesNow(span, now())), why: "" };
  const trouble = h("div", { role: "alert" });
  const save = (count) => async () => {
    const isBad = !typed.why.trim() || (count !== 0 && (typed.minutes < 1 || typed.minutes > MOST_MINUTES));
    if (isBad) return trouble.replaceChildren(notice(t("time.say_why"), "trouble"));
    await timerType(date, { minutes: count ?? typed.minutes, why: typed.why.trim(), replaced: span });
    return app.again();
  };
  return drawer(
    t("time.correct"),
    length(typed.minutes, (value) => { typed.minutes = value; }),
    field({ label: t("time.why"), control: textInput({ maxlength: 200, onchange: (why) => { typed.why = why; } }) }),
    trouble,
    h("div", { class: "row" }, button(t("time.strike"), save(0), { danger: true }), button(t("time.save"), save(null), { main: true })),
  );
}

function spanRow(span, date, app) {
  const stop = async () => {
    await timersStop(date, [span.person]);
    app.again();
  };
  return h(
    "li",
    { class: "span" },
    h("p", {}, h("span", { class: "number" }, minutes(minutesNow(span, now()))), " ", spanWords(span)),
    isOpen(span) ? button(t("work.stop"), stop) : correction(span, date, app),
  );
}

function personPart(id, spans, sums, date, app) {
  const name = person(id)?.name ?? t("time.somebody");
  const title = `${name} · ${minutes(sums.get(id))}`;
  return section(title, h("ul", { class: "spans" }, spans.filter((span) => span.person === id).map((span) => spanRow(span, date, app))));
}

function adding(date, app) {
  const members = session.crews.flatMap((crew) => crewPeople(crew, date).map((one) => ({ ...one, crew })));
  if (!members.length) return null;
  const orders = myOrders();
  const typed = { person: members[0].person, code: "drive", order: orders[0]?.id ?? "", minutes: 0, why: "" };
  const set = (name) => (value) => { typed[name] = value; };
  const trouble = h("div", { role: "alert" });
  const ofOrder = field({ label: t("time.order"), control: select({ options: orders.map((one) => ({ value: one.id, label: orderWords(one.id) })), value: typed.order, onchange: set("order") }) });
  ofOrder.hidden = true;
  const takeCode = (code) => {
    typed.code = code;
    ofOrder.hidden = code !== "work";
  };
  const save = async () => {
    if (typed.minutes < 1 || typed.minutes > MOST_MINUTES || (typed.code === "work" && !typed.order)) return trouble.replaceChildren(notice(t("time.say_minutes"), "trouble"));
    await timerType(date, rowOf(typed, members, date));
    return app.again();
  };
  return drawer(
    t("time.add"),
    field({ label: t("time.person"), control: select({ options: members.map((one) => ({ value: one.person, label: one.name })), onchange: set("person") }) }),
    choices({ legend: t("time.what"), options: CODES.map((code) => ({ value: code, label: t(`time.code.${code}`) })), value: typed.code, onchange: takeCode }),
    ofOrder,
    length(0, set("minutes")),
    field({ label: t("time.note"), control: textInput({ maxlength: 200, onchange: set("why") }) }),
    trouble,
    button(t("time.save"), save, { main: true }),
  );
}

function rowOf(typed, members, date) {
  const order = typed.code === "work" ? state.orders.get(typed.order) : null;
  const crew = order?.crew ?? members.find((one) => one.person === typed.person).crew;
  return { ...typed, crew, order: order?.id ?? null, visit: order ? (visitOn(order, date)?.id ?? order.visits?.[0]?.id ?? null) : null };
}

function dayChoice(days, date, app) {
  const options = days.map((one) => ({ value: one, label: day(one) }));
  return field({ label: t("today.day"), control: select({ options, value: date, onchange: (value) => app.go(value === fieldDay() ? "/time" : `/time/${value}`) }) });
}

export async function render(root, params, app) {
  const date = params.day ?? fieldDay();
  const days = [...new Set([fieldDay(), date, ...(await timerDays())])].sort().reverse();
  const spans = await spansOf(date);
  const sums = minutesByPerson(spans, now());
  const drawn = [
    pageHead(t("time.title", { day: day(date) }), "/"),
    days.length > 1 ? dayChoice(days, date, app) : null,
    sums.size ? [...sums.keys()].map((id) => personPart(id, spans, sums, date, app)) : notice(t("time.none")),
    adding(date, app),
  ];
  root.replaceChildren(...drawn.flat().filter(Boolean));
}
