// The work of an order: timers, how far it is, photographs, signs, and what else there is to tell.

import { day, t } from "../core/i18n.js";
import { queue } from "../core/outbox.js";
import { crewPeople, state } from "../core/state.js";
import { actions, h, link, notice, pageHead } from "../core/ui.js";
import { orderDangers } from "../parts/safety_people.js";
import { forgottenDays, spansOf, workDay } from "../parts/timers_kept.js";
import { checkInOf, dayKept, orderKept, orderWrite, photosKept } from "../parts/work_kept.js";
import { orderLinks, orderName, orderPath, visitOn } from "../parts/work_links.js";
import { progressSection } from "./work_progress.js";
import { signsSection } from "./work_signs.js";
import { timersBox } from "./work_timers.js";
import { undoneDrawer } from "./work_undone.js";

async function photosByPatch(kept) {
  const found = new Map();
  const rows = await photosKept(kept.photos);
  for (const row of rows.filter(Boolean)) found.set(row.meta.about_id, [...(found.get(row.meta.about_id) ?? []), row.meta.id]);
  return found;
}

/** What should have been done before; the work may begin without it. */
async function warnings(order, date) {
  const kept = await dayKept(date);
  const forgotten = await forgottenDays(date);
  const isBriefed = kept.briefings.some((one) => one.site === order.site);
  const said = (word, path, linkWord) => h("div", { class: "row missing" }, h("span", { class: "grow" }, t(word)), link(t(linkWord), path));
  const missing = [
    checkInOf(kept, order.crew) ? null : said("work.no_check_in", "/check-in", "links.check_in"),
    isBriefed ? null : said("work.no_briefing", `/briefing/${order.site}`, "links.briefing"),
  ].filter(Boolean);
  return [
    missing.length ? notice(h("div", {}, missing), "caution") : null,
    ...forgotten.map((one) => notice(h("span", {}, t("today.forgotten", { day: day(one) }), " ", link(t("links.time"), `/time/${one}`)), "trouble")),
    order.gone || order.state === "void" ? notice(t("order.gone"), "trouble") : null,
  ].filter(Boolean);
}

/** Who starts with one tap: those who are checked in, or the whole crew; nobody who has worked on this order today. */
async function pickedFirst(order, date) {
  const here = checkInOf(await dayKept(date), order.crew)?.people;
  const worked = new Set((await spansOf(date)).filter((span) => span.order === order.id).map((span) => span.person));
  const members = crewPeople(order.crew, date).map((one) => one.person);
  return new Set(members.filter((one) => (!here || here.includes(one)) && !worked.has(one)));
}

async function startOrder(order) {
  const kept = await orderKept(order.id);
  if (kept.started || order.state !== "issued") return;
  const keep = orderWrite(order.id, (value) => ({ ...value, started: true }));
  await queue("start-order", {}, { order: order.id, writes: [keep] });
}

function more(order) {
  const { herbicide } = orderDangers(order);
  const rows = herbicide ? [["links.mix", `/mix/${order.id}`], ["links.weather", `/weather/${order.id}`], ["links.apply", `/apply/${order.id}`]] : [];
  rows.push(["links.time", "/time"], ["links.detection", `/detection/${order.site}`], ["links.incident", `/incident/near_miss/${order.id}`]);
  return h("nav", { class: "row tools", "aria-label": t("order.more") }, rows.map(([word, path]) => link(t(word), path)));
}

export async function render(root, { id }, app) {
  const order = state.orders.get(id);
  if (!order) return void root.replaceChildren(pageHead(t("order.unknown"), "/"), notice(t("order.unknown_more"), "trouble"));
  const site = state.sites.get(order.site);
  const date = workDay(site);
  const kept = await orderKept(id);
  const visit = visitOn(order, date)?.id ?? order.visits?.[0]?.id ?? null;
  const bottom = actions();
  const drawBottom = () => {
    const stop = link(t("work.stop_work"), `/incident/stop_work/${id}`, { class: "danger-button" });
    const close = timers.isRunning() ? null : link(t("links.close"), orderPath(order, "/close"), { main: !timers.mainButtons().length });
    bottom.replaceChildren(...[stop, close, ...timers.mainButtons()].filter(Boolean));
  };
  const picked = await pickedFirst(order, date);
  const timers = timersBox({ order, visit, date, picked, onStart: () => startOrder(order), onChange: drawBottom });
  await timers.draw();
  drawBottom();
  const drawn = [
    pageHead(orderName(order, site), orderPath(order)),
    orderLinks(order, "/work"),
    await warnings(order, date),
    timers.element,
    more(order),
    progressSection(order, kept, await photosByPatch(kept)),
    await signsSection(order),
    undoneDrawer(order, kept, date, app),
    bottom,
  ];
  root.replaceChildren(...drawn.flat().filter(Boolean));
  return timers.end;
}
