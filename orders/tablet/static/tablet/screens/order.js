// An order, read before the work: where, how in, what to do, what to bring, what to mind, who may do what.

import { area, day, minutes, number, t, tn } from "../core/i18n.js";
import { state } from "../core/state.js";
import { actions, drawer, facts, h, link, notice, pageHead, section, toggle } from "../core/ui.js";
import { limitsShort } from "../parts/safety_limits.js";
import { hazardName, usualControl } from "../parts/safety_words.js";
import { workDay } from "../parts/timers_kept.js";
import { changeOrder, orderKept } from "../parts/work_kept.js";
import { orderLinks, orderName, orderPath, visitWords } from "../parts/work_links.js";
import { methodName, stepName } from "../parts/work_words.js";
import { peopleSection } from "./order_people.js";

const hours = (value) => number(value ?? 0, 1);

// What crews have with them on any day: common practice.
const EVERY_DAY = ["order.gear_hands", "order.gear_water"];
const SAW_GEAR = ["order.gear_head", "order.gear_legs"];

function cautions(order) {
  const usual = (order.hazards ?? []).map((code) => `${hazardName(code)}: ${usualControl(code)}`);
  const all = [...usual, ...(order.cautions ?? [])];
  if (!all.length) return null;
  const list = h("ul", {}, all.map((text) => h("li", {}, text)));
  return notice(h("div", {}, list, h("p", { class: "decides" }, t("order.decides"))), "caution");
}

function entry({ entry: rule }) {
  if (!rule?.text && !rule?.hours) return null;
  const word = rule.applies === "restricted" ? "order.entry_restricted" : "order.entry_label";
  const length = rule.hours ? ` ${t("order.entry_hours", { hours: number(rule.hours, 1) })}` : "";
  return section(t("order.entry"), notice(`${t(word)}${length} ${rule.text ?? ""}`, "caution"));
}

function wayIn(site) {
  if (!site) return null;
  const rows = [
    [t("order.site"), `${site.name} (${site.code})`],
    site.drive_minutes ? [t("order.drive"), minutes(site.drive_minutes)] : null,
    site.access_notes ? [t("order.access"), site.access_notes] : null,
    [t("order.jurisdiction"), site.jurisdiction?.name ?? ""],
  ];
  return section(t("order.way_in"), facts(rows.filter(Boolean)));
}

function patch(row, order) {
  const about = [
    [t("order.method"), methodName(row.method)],
    [t("order.species"), (row.species ?? []).join(", ")],
    row.infested_area_m2 ? [t("order.area"), area(row.infested_area_m2)] : null,
    row.stems ? [t("order.stems"), number(row.stems)] : null,
    row.slope_deg ? [t("order.slope"), t("order.degrees", { n: number(row.slope_deg) })] : null,
    row.target_cover ? [t("order.target"), t("order.percent", { n: number(row.target_cover * 100, 1) })] : null,
    row.seed_due_on ? [t("order.seed_due"), day(row.seed_due_on)] : null,
    [t("order.why"), row.why],
  ];
  const steps = row.steps.map((step) => h("li", {}, `${stepName(step)} · ${minutes(Math.round(step.hours * 60))}`));
  const mix = row.mix ? order.mixes?.find((one) => one.id === row.mix || one.code === row.mix) : null;
  return h(
    "article",
    { class: "patch" },
    h("h3", {}, `${row.patch_code} ${row.patch_name}`.trim()),
    h("ol", { class: "steps" }, steps),
    mix ? h("p", {}, t("order.mix", { name: mix.name })) : null,
    facts(about.filter((one) => one && one[1])),
  );
}

function bring(order, kept) {
  const rows = [...(order.bring ?? []).map(({ name, count }) => [name, count > 1 ? `${number(count)} × ${name}` : name]), ...(order.protective_equipment ?? []).map((name) => [name, name])];
  const gear = order.hazards?.includes("saws") ? [...EVERY_DAY, ...SAW_GEAR] : EVERY_DAY;
  rows.push(...gear.map((key) => [key, t(key)]));
  const check = (name) => (isThere) =>
    changeOrder(order.id, (value) => ({ ...value, brought: isThere ? [...new Set([...value.brought, name])] : value.brought.filter((one) => one !== name) }));
  return section(
    t("order.bring"),
    h("div", { class: "checks" }, rows.map(([name, label]) => toggle({ label, checked: kept.brought.includes(name), onchange: check(name) }))),
  );
}

function checklist(site) {
  const rows = site?.checklist ?? [];
  const open = rows.filter((row) => row.open || row.stops_work);
  const line = (row) => h("li", {}, h("strong", {}, row.question), " ", row.answer, row.why ? h("em", {}, ` ${row.why}`) : null);
  return [
    open.length ? notice(h("div", {}, h("p", {}, tn("order.checklist_open", open.length)), h("ul", {}, open.map(line))), "caution") : null,
    rows.length ? drawer(t("order.checklist"), h("ul", { class: "plain" }, rows.map(line))) : null,
  ];
}

function overview(order) {
  const limits = limitsShort(order.weather_limits ?? []);
  const { low, likely, high } = order.hours ?? {};
  const rows = [
    [t("order.visits"), visitWords(order)],
    [t("today.hours"), t("order.hours_range", { low: hours(low), likely: hours(likely), high: hours(high) })],
    limits.length ? [t("today.limits"), limits.join(" · ")] : null,
    order.rain_free_hours ? [t("order.rain_free"), tn("core.hours", order.rain_free_hours)] : null,
    [t("order.window"), `${day(order.first_day)} – ${day(order.last_day)}`],
    order.instructions ? [t("order.instructions"), order.instructions] : null,
  ];
  return section(t("order.overview"), facts(rows.filter(Boolean)));
}

function next(order) {
  const more = [link(t("links.briefing"), `/briefing/${order.site}`)];
  if (order.mixes?.length) more.push(link(t("links.mix"), `/mix/${order.id}`), link(t("links.weather"), `/weather/${order.id}`), link(t("links.apply"), `/apply/${order.id}`));
  more.push(link(t("links.detection"), `/detection/${order.site}`), link(t("links.close"), orderPath(order, "/close")));
  return h("nav", { class: "row tools", "aria-label": t("order.more") }, more);
}

export async function render(root, { id }) {
  const order = state.orders.get(id);
  if (!order) return void root.replaceChildren(pageHead(t("order.unknown"), "/"), notice(t("order.unknown_more"), "trouble"));
  const site = state.sites.get(order.site);
  const kept = await orderKept(id);
  const gone = order.gone || order.state === "void" ? notice(t("order.gone"), "trouble") : null;
  const drawn = [
    pageHead(orderName(order, site), "/"),
    orderLinks(order, ""),
    gone,
    checklist(site)[0],
    overview(order),
    cautions(order),
    wayIn(site),
    section(t("order.steps"), order.work.map((row) => patch(row, order))),
    bring(order, kept),
    entry(order),
    peopleSection(order, site, workDay(site)),
    checklist(site)[1],
    next(order),
    actions(link(t("work.open"), orderPath(order, "/work"), { main: true })),
  ];
  root.replaceChildren(...drawn.filter(Boolean));
  return undefined;
}
