// Who is at work: a row a person, and one button for all. What runs is a row with a beginning, so nothing is lost.

import { clock, minutes, t, tn } from "../core/i18n.js";
import { crewPeople, state } from "../core/state.js";
import { button, h, notice, say, section, select, toggle, field } from "../core/ui.js";
import { ageUnknown, loneTrouble, rowsFor } from "../parts/safety_people.js";
import { isPaused, minutesNow, openSpan } from "../parts/timers.js";
import { spansOf, timersPause, timersResume, timersStart, timersStop, timerSwitch } from "../parts/timers_kept.js";
import { methodName } from "../parts/work_words.js";

const EVERY_MS = 15_000;
const now = () => new Date().toISOString();

function total(spans, person, order) {
  return spans.filter((span) => span.person === person && span.order === order.id).reduce((sum, span) => sum + minutesNow(span, now()), 0);
}

/** The people of an order's crew with what runs for each. */
function rowsOf(order, date, spans) {
  return crewPeople(order.crew, date).map((member) => ({
    member,
    open: openSpan(spans, member.person),
    rows: rowsFor(order, member),
    total: () => total(spans, member.person, order),
  }));
}

function statusWords({ open, rows }, order) {
  if (!rows.length) return t("people.under_age_more");
  if (!open) return t("work.not_running");
  if (open.order !== order.id) return t("work.elsewhere");
  return t(isPaused(open) ? "work.on_break" : "work.since", { time: clock(open.paused_at ?? open.started_at, state.sites.get(order.site)?.time_zone) });
}

/** `picked` is the set of people who start next; it lives as long as the screen. */
export function timersBox({ order, visit, date, picked, onStart, onChange }) {
  const box = h("div", {});
  let spans = [];

  async function act(doing, word) {
    await doing();
    if (word) say(t(word));
    await draw();
    onChange?.();
  }

  function start(people) {
    const starts = people.map(({ member, rows }) => ({
      person: member.person,
      crew: order.crew,
      order: order.id,
      visit,
      prescription: order.work.length === 1 || rows.length < order.work.length ? rows[0].prescription : null,
    }));
    return act(async () => {
      await onStart();
      await timersStart(date, starts);
      picked.clear();
    }, "work.started");
  }

  function personButtons({ member, open }) {
    const one = [member.person];
    if (!open) return [toggle({ label: t("work.picked", { name: member.name }), checked: picked.has(member.person), onchange: (isPicked) => pick(member.person, isPicked) })];
    const pause = isPaused(open)
      ? button(t("work.go_on"), () => act(() => timersResume(date, one)), { "aria-label": t("work.go_on_who", { name: member.name }) })
      : button(t("work.break"), () => act(() => timersPause(date, one)), { "aria-label": t("work.break_who", { name: member.name }) });
    return [pause, button(t("work.stop"), () => act(() => timersStop(date, one)), { "aria-label": t("work.stop_who", { name: member.name }) })];
  }

  function pick(person, isPicked) {
    if (isPicked) picked.add(person);
    else picked.delete(person);
    onChange?.();
  }

  function patchChoice({ member, open, rows }) {
    if (!open || open.order !== order.id || rows.length < 2) return null;
    const options = [{ value: "", label: t("work.any_patch") }, ...rows.map((row) => ({ value: row.prescription, label: `${row.patch_code} · ${methodName(row.method)}` }))];
    const control = select({ options, value: open.prescription ?? "", onchange: (value) => act(() => timerSwitch(date, member.person, value || null)) });
    return field({ label: t("work.patch_of", { name: member.name }), control });
  }

  function personRow(one) {
    const time = h("span", { class: "number timer-minutes" }, minutes(one.total()));
    const head = h("div", { class: "timer-head" }, h("h3", {}, one.member.name), time, h("p", {}, statusWords(one, order)));
    const controls = one.rows.length ? h("div", { class: "row" }, personButtons(one)) : null;
    return { ...one, time, element: h("li", { class: one.open ? "timer is-running" : "timer" }, head, controls, patchChoice(one)) };
  }

  let shown = [];
  async function draw() {
    spans = await spansOf(date);
    shown = rowsOf(order, date, spans).map(personRow);
    box.replaceChildren(section(t("work.people"), warnings(), h("ul", { class: "timers" }, shown.map((one) => one.element))));
  }

  function warnings() {
    const lone = loneTrouble(order, toStart().length + company().length, state.policy);
    const isLeft = lone && !toStart().length && running().length;
    const young = ageUnknown(order, shown.map(({ member }) => member));
    return [
      lone && toStart().length ? notice(t(`work.${lone}`), "caution") : null,
      isLeft ? notice(t(`work.left_${lone}`), "caution") : null,
      young.length ? notice(t("people.age_unknown", { names: young.join(", "), age: state.policy.least_age }), "caution") : null,
    ].filter(Boolean);
  }

  const toStart = () => shown.filter(({ member, open, rows }) => picked.has(member.person) && !open && rows.length);
  const running = () => shown.filter(({ open }) => open?.order === order.id);
  /** Who is at work at this site, on this order or another: those are near. */
  const company = () => shown.filter(({ open }) => open && state.orders.get(open.order)?.site === order.site);
  const people = (list) => list.map(({ member }) => member.person);

  /** The buttons that fit what runs now, for the bottom of the screen. */
  function mainButtons() {
    const active = running().filter(({ open }) => !isPaused(open));
    const starting = toStart();
    const isAlone = loneTrouble(order, starting.length + company().length, state.policy) !== "";
    const made = [];
    if (running().length) made.push(active.length ? button(t("work.break_all"), () => act(() => timersPause(date, people(active)))) : button(t("work.go_on_all"), () => act(() => timersResume(date, people(running())))));
    if (running().length) made.push(button(t("work.stop_all"), () => act(() => timersStop(date, people(running())), "work.stopped"), { main: !starting.length }));
    if (starting.length) made.push(button(tn("work.start", starting.length), () => start(starting), { main: true, disabled: isAlone }));
    return made;
  }

  const ticking = setInterval(() => shown.forEach((one) => { one.time.textContent = minutes(one.total()); }), EVERY_MS);
  return { element: box, draw, mainButtons, isRunning: () => running().length > 0, end: () => clearInterval(ticking) };
}
