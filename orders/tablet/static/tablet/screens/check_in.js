// Who is at which site, and until when. The office is told when a crew does not come back.

import { clock, t } from "../core/i18n.js";
import { queue } from "../core/outbox.js";
import { session } from "../core/session.js";
import { crewPeople, myOrders, state } from "../core/state.js";
import { actions, button, choices, field, h, notice, pageHead, section, select, stepper, textInput, toggle } from "../core/ui.js";
import { placeNow } from "../parts/map_place.js";
import { fieldDay } from "../parts/timers_kept.js";
import { checkInOf, dayKept, dayWrite, draft, draftDone } from "../parts/work_kept.js";
import { visitOn } from "../parts/work_links.js";

const draftName = (date) => `check-in/${date}`;
const MINUTE_MS = 60_000;
const STEP_MINUTES = 15;
const DAY_MINUTES = 480;
const MOST_MINUTES = 14 * 60;

const inMinutes = (minutes) => {
  const step = STEP_MINUTES * MINUTE_MS;
  return new Date(Math.ceil((Date.now() + minutes * MINUTE_MS) / step) * step).toISOString();
};

/** Today's orders of a crew at a site: where they plan less than a day, the crew is back earlier. */
function usualMinutes(crew, site, date, people) {
  const visits = myOrders().filter((order) => order.crew === crew && order.site === site).map((order) => visitOn(order, date));
  const hours = visits.filter(Boolean).reduce((sum, visit) => sum + (visit.hours?.likely ?? visit.hours ?? 0), 0);
  if (!hours || !people) return DAY_MINUTES;
  return Math.min(DAY_MINUTES, Math.max(60, (hours / people) * 60));
}

function firstSite(crew, date) {
  const orders = myOrders().filter((order) => order.crew === crew && order.state !== "closed");
  return (orders.find((order) => visitOn(order, date)) ?? orders[0])?.site ?? [...state.sites.keys()][0] ?? "";
}

function fresh(date) {
  const crew = session.crews[0];
  const people = crewPeople(crew, date).map((one) => one.person);
  const site = firstSite(crew, date);
  return { crew, site, people, back_by: inMinutes(usualMinutes(crew, site, date, people.length)), phone: "", note: "", share: false };
}

function backBy({ back_by: value, site }, change) {
  const from = Date.parse(value);
  const zone = state.sites.get(site)?.time_zone;
  const shown = (minutes) => clock(new Date(from + minutes * MINUTE_MS).toISOString(), zone);
  const moved = (minutes) => change(new Date(from + minutes * MINUTE_MS).toISOString());
  const least = Math.ceil((Date.now() - from) / MINUTE_MS / STEP_MINUTES) * STEP_MINUTES;
  return stepper({ label: t("check_in.back_by"), value: 0, step: STEP_MINUTES, min: least, max: MOST_MINUTES, shown, onchange: moved });
}

function peopleRows(kept, date, drawTrouble) {
  return crewPeople(kept.value.crew, date).map((member) =>
    toggle({
      label: member.name,
      help: member.of_age === false ? t("people.under_age") : "",
      checked: kept.value.people.includes(member.person),
      onchange: (isThere) => {
        const others = kept.value.people.filter((one) => one !== member.person);
        drawTrouble(isThere ? [...others, member.person] : others);
      },
    }),
  );
}

function form(kept, date, app) {
  const trouble = h("div", { role: "status" });
  const take = (name) => (value) => kept.keep({ [name]: value });
  const drawTrouble = (people) => {
    kept.keep({ people });
    const word = people.length === 0 ? "check_in.nobody" : people.length === 1 ? "check_in.alone" : "";
    trouble.replaceChildren(...(word ? [notice(t(word), "caution")] : []));
  };
  drawTrouble(kept.value.people);
  const sites = [...state.sites.values()].map((site) => ({ value: site.id, label: site.name }));
  const again = (change) => kept.keep(change).then(() => app.again());
  const crews = session.crews.map((id) => ({ value: id, label: state.crews.get(id)?.name ?? "" }));
  return [
    section(
      t("check_in.who"),
      crews.length > 1 ? choices({ legend: t("check_in.crew"), options: crews, value: kept.value.crew, onchange: (crew) => again({ crew, people: crewPeople(crew, date).map((one) => one.person) }) }) : null,
      h("div", { role: "group", "aria-label": t("check_in.who") }, peopleRows(kept, date, drawTrouble)),
      trouble,
    ),
    section(
      t("check_in.where"),
      field({ label: t("check_in.site"), control: select({ options: sites, value: kept.value.site, onchange: take("site") }) }),
      h("h3", {}, t("check_in.back_by")),
      backBy(kept.value, take("back_by")),
      field({ label: t("check_in.phone"), control: textInput({ type: "tel", value: kept.value.phone, maxlength: 40, onchange: take("phone") }) }),
      field({ label: t("check_in.note"), control: textInput({ value: kept.value.note, maxlength: 200, onchange: take("note") }) }),
      toggle({ label: t("check_in.share"), checked: kept.value.share, onchange: take("share") }),
    ),
    actions(button(t("check_in.in"), () => checkIn(kept.value, date, app), { main: true })),
  ];
}

async function checkIn(value, date, app) {
  if (!value.people.length || !value.site) return;
  const found = value.share ? await placeNow() : null;
  const { crew, site, people, back_by, phone, note } = value;
  const body = { id: crypto.randomUUID(), crew, site, people, back_by, phone, note };
  if (found) Object.assign(body, { lon: found.point[0], lat: found.point[1] });
  const row = { ...body, at: new Date().toISOString(), out_at: null };
  const keep = dayWrite(date, (day) => ({ ...day, check_ins: [...day.check_ins, row] }));
  await queue("check-in", body, { writes: [keep, draftDone(draftName(date))] });
  app.go("/");
}

const changed = (id, change) => (day) => ({
  ...day,
  check_ins: day.check_ins.map((one) => (one.id === id ? { ...one, ...change } : one)),
});

function there(open, date, app) {
  const site = state.sites.get(open.site);
  const names = crewPeople(open.crew, date).filter((one) => open.people.includes(one.person)).map((one) => one.name);
  const step = { back_by: open.back_by };
  const longer = async () => {
    if (step.back_by === open.back_by) return;
    const body = { id: crypto.randomUUID(), check_in: open.id, back_by: step.back_by };
    await queue("check-in-longer", body, { writes: [dayWrite(date, changed(open.id, { back_by: step.back_by }))] });
    app.again();
  };
  const out = async () => {
    const body = { id: crypto.randomUUID(), check_in: open.id };
    await queue("check-out", body, { writes: [dayWrite(date, changed(open.id, { out_at: new Date().toISOString() }))] });
    app.go("/");
  };
  return [
    notice(t("today.checked_in", { site: site?.name ?? "", time: clock(open.back_by, site?.time_zone) }), Date.parse(open.back_by) < Date.now() ? "caution" : "good"),
    section(t("check_in.who"), h("p", {}, names.join(", "))),
    section(t("check_in.longer"), backBy(open, (value) => { step.back_by = value; }), button(t("check_in.say_longer"), longer)),
    actions(button(t("check_in.out"), out, { main: true })),
  ];
}

export async function render(root, params, app) {
  const date = fieldDay();
  const day = await dayKept(date);
  const open = session.crews.map((crew) => checkInOf(day, crew)).find(Boolean);
  const body = open ? there(open, date, app) : form(await draft(draftName(date), fresh(date)), date, app);
  root.replaceChildren(pageHead(t("check_in.title"), "/"), ...body);
}
