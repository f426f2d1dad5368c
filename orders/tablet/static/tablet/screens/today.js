// The day's orders of the crew: what is late on top, then day by day, done ones folded.

import { clock, day, number, t, tn } from "../core/i18n.js";
import { session } from "../core/session.js";
import { myOrders, state } from "../core/state.js";
import { actions, drawer, facts, field, h, link, notice, pageHead, section, select, textInput } from "../core/ui.js";
import { limitsShort } from "../parts/safety_limits.js";
import { fieldDay, forgottenDays } from "../parts/timers_kept.js";
import { checkInOf, dayKept, orderKept } from "../parts/work_kept.js";
import { orderName, orderPath } from "../parts/work_links.js";
import { methodName, orderState } from "../parts/work_words.js";

const SEARCH_FROM = 10;
const OVER = new Set(["closed", "void"]);
const COLORS = { underway: "state-wait", closed: "state-good", void: "state-bad", gone: "state-bad" };

/** The day under which an order is listed: its next visit that is not done, else its window's first day. */
function listedOn(order, date) {
  const planned = (order.visits ?? []).filter((visit) => visit.state === "planned").map((visit) => visit.day);
  return planned.sort().find((one) => one >= date) ?? planned.at(-1) ?? order.first_day;
}

/** As the office last said, or as this tablet knows better: begun or closed here and not yet sent. */
function stateOf(order) {
  if (order.gone) return "gone";
  if (order.close_out || order.kept.close?.id) return "closed";
  return order.state === "issued" && order.kept.started ? "underway" : order.state;
}

function groupOf(order, date) {
  if (OVER.has(stateOf(order))) return "done";
  const on = listedOn(order, date);
  return on < date ? "late" : on;
}

function matches(order, text, on, date) {
  const site = state.sites.get(order.site);
  const words = `${order.number} ${site?.name ?? ""} ${site?.code ?? ""}`.toLowerCase();
  return words.includes(text.trim().toLowerCase()) && (!on || groupOf(order, date) === on);
}

function stateWord(order) {
  const word = stateOf(order);
  return h("span", { class: `state ${COLORS[word] ?? ""}` }, orderState(word));
}

function card(order) {
  const site = state.sites.get(order.site);
  const methods = [...new Set(order.work.map((row) => methodName(row.method)))].join(", ");
  const limits = limitsShort(order.weather_limits ?? []);
  const rows = [
    [t("today.work"), methods],
    [t("today.patches"), order.work.map((row) => row.patch_code).join(", ")],
    [t("today.hours"), t("order.hours_range", hoursOf(order))],
    limits.length ? [t("today.limits"), limits.join(" · ")] : null,
  ];
  return h(
    "article",
    { class: "order-card", "data-order": order.id },
    h("h3", {}, h("a", { href: `#${orderPath(order)}` }, orderName(order, site))),
    h("p", { class: "badges" }, stateWord(order), order.record_open ? h("span", { class: "state state-wait" }, t("today.record_open")) : null),
    facts(rows.filter(Boolean)),
    h("div", { class: "row" }, link(t("links.brief"), orderPath(order)), groupOf(order, "") === "done" ? null : link(t("links.work"), orderPath(order, "/work"))),
  );
}

const hoursOf = ({ hours }) => Object.fromEntries(["low", "likely", "high"].map((name) => [name, number(hours?.[name] ?? 0, 1)]));

function titleOf(group, date) {
  if (group === "late") return t("today.late");
  return group === date ? t("today.today", { day: day(date) }) : day(group);
}

function groups(found, date) {
  const names = [...new Set(found.map((order) => groupOf(order, date)))].filter((name) => name !== "done");
  const sorted = names.sort((one, other) => (one === "late" ? -1 : other === "late" ? 1 : one.localeCompare(other)));
  const done = found.filter((order) => groupOf(order, date) === "done");
  return [
    ...sorted.map((name) => section(titleOf(name, date), found.filter((order) => groupOf(order, date) === name).map(card))),
    done.length ? drawer(tn("today.done", done.length), done.map(card)) : null,
  ].filter(Boolean);
}

function list(orders, date) {
  const place = h("div", { class: "order-list" });
  const asked = { text: "", on: "" };
  const draw = () => {
    const found = orders.filter((order) => matches(order, asked.text, asked.on, date));
    place.replaceChildren(...(found.length ? groups(found, date) : [notice(t("today.none_found"))]));
  };
  draw();
  return [finders(orders, date, asked, draw), place];
}

function finders(orders, date, asked, draw) {
  const take = (name) => (value) => {
    asked[name] = value;
    draw();
  };
  const days = [...new Set(orders.map((order) => groupOf(order, date)))].filter((name) => name !== "done").sort();
  const options = [{ value: "", label: t("today.all_days") }, ...days.map((name) => ({ value: name, label: titleOf(name, date) }))];
  const search = () => field({ label: t("today.search"), control: textInput({ type: "search", onchange: take("text") }) });
  const pick = () => field({ label: t("today.day"), control: select({ options, onchange: take("on") }) });
  return h("div", { class: "row finders" }, orders.length > SEARCH_FROM ? search() : null, days.length > 1 ? pick() : null);
}

async function outside(date) {
  const kept = await dayKept(date);
  const open = session.crews.map((crew) => checkInOf(kept, crew)).find(Boolean);
  if (!open) return notice(t("today.not_checked_in"));
  const site = state.sites.get(open.site);
  const vars = { site: site?.name ?? "", time: clock(open.back_by, site?.time_zone) };
  const isLate = Date.parse(open.back_by) < Date.now();
  return notice(t(isLate ? "today.back_late" : "today.checked_in", vars), isLate ? "caution" : "good");
}

async function running(date) {
  const days = await forgottenDays(date);
  return days.map((one) => notice(h("span", {}, t("today.forgotten", { day: day(one) }), " ", link(t("links.time"), `/time/${one}`)), "trouble"));
}

export async function render(root, params, app) {
  const date = fieldDay();
  const orders = await Promise.all(myOrders().map(async (order) => ({ ...order, kept: await orderKept(order.id) })));
  const drawn = [
    pageHead(t("today.title", { day: day(date) })),
    await outside(date),
    await running(date),
    orders.length ? list(orders, date) : notice(t(session.crews.length ? "today.empty" : "today.no_crew")),
    h(
      "nav",
      { class: "row tools", "aria-label": t("today.tools") },
      link(t("links.time"), "/time"),
      link(t("links.mixes"), "/mixes"),
      link(t("links.records"), "/records"),
      link(t("links.day_end"), "/day-end"),
      link(t("links.incident"), "/incident"),
    ),
    actions(link(t("links.check_in"), "/check-in", { main: true }), link(t("links.day"), "/day")),
  ];
  root.replaceChildren(...drawn.flat(Infinity));
  return onNewDay(date, app);
}

/** A tablet that was left on overnight shows the new day. */
function onNewDay(date, app) {
  const timer = setInterval(() => fieldDay() !== date && app.again(), 60_000);
  return () => clearInterval(timer);
}
