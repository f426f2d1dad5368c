// The tailgate briefing: the day's readings, the hazards with what is done about each, and who heard it.

import { t, tn } from "../core/i18n.js";
import { queue } from "../core/outbox.js";
import { session } from "../core/session.js";
import { crewPeople, myOrders, state } from "../core/state.js";
import { actions, button, field, h, notice, pageHead, section, select, textArea, toggle } from "../core/ui.js";
import { hazardCodes, hazardName, usualControl } from "../parts/safety_words.js";
import { workDay } from "../parts/timers_kept.js";
import { checkInOf, dayKept, dayWrite, draft, draftDone } from "../parts/work_kept.js";
import { computedShort, readings, told } from "./briefing_weather.js";

const OVER = new Set(["closed", "void"]);
const READINGS = { air_temperature_c: null, relative_humidity_percent: null, wind_m_s: null, full_sun: false, workload: "moderate" };

async function fresh(site, orders, date) {
  const crew = orders[0]?.crew ?? session.crews[0];
  const members = crewPeople(crew, date).map((one) => one.person);
  const people = checkInOf(await dayKept(date), crew)?.people ?? members;
  const controls = Object.fromEntries(hazardCodes(orders, people.length).map((code) => [code, usualControl(code)]));
  return { crew, people, led_by: session.person, conditions: READINGS, controls, confirmed: [], notes: "" };
}

function hazard(code, kept, drawCount) {
  const { value } = kept;
  const confirm = (isYes) => {
    const others = value.confirmed.filter((one) => one !== code);
    kept.keep({ confirmed: isYes ? [...others, code] : others });
    drawCount();
  };
  const control = textArea({ value: value.controls[code], rows: 3, maxlength: 600, onchange: (text) => kept.keep({ controls: { ...value.controls, [code]: text } }) });
  return h(
    "div",
    { class: "hazard" },
    field({ label: t("briefing.control", { hazard: hazardName(code) }), control }),
    toggle({ label: t("briefing.confirmed"), checked: value.confirmed.includes(code), onchange: confirm }),
  );
}

function hazards(kept, app) {
  const codes = Object.keys(kept.value.controls);
  const count = h("p", { role: "status" });
  const drawCount = () => {
    const left = codes.filter((code) => !kept.value.confirmed.includes(code)).length;
    count.textContent = left ? tn("briefing.left", left) : t("briefing.all_confirmed");
  };
  drawCount();
  const all = button(t("briefing.confirm_all"), async () => {
    await kept.keep({ confirmed: codes });
    app.again();
  });
  return section(t("briefing.hazards"), h("p", {}, t("briefing.hazards_help")), h("div", { class: "hazards" }, codes.map((code) => hazard(code, kept, drawCount))), count, all);
}

function weather(kept) {
  const box = h("div", { class: "told", role: "status" }, told(kept.value.conditions));
  const change = (part) => {
    kept.keep({ conditions: { ...kept.value.conditions, ...part } });
    box.replaceChildren(...told(kept.value.conditions));
  };
  return section(t("briefing.weather"), readings(kept.value.conditions, change), box);
}

function people(kept, date) {
  const members = crewPeople(kept.value.crew, date);
  const rows = members.map((member) =>
    toggle({
      label: member.name,
      checked: kept.value.people.includes(member.person),
      onchange: (isThere) => {
        const others = kept.value.people.filter((one) => one !== member.person);
        kept.keep({ people: isThere ? [...others, member.person] : others });
      },
    }),
  );
  const leads = members.map((one) => ({ value: one.person, label: one.name }));
  return section(
    t("briefing.people"),
    h("div", { role: "group", "aria-label": t("briefing.people") }, rows),
    field({ label: t("briefing.led_by"), control: select({ options: leads, value: kept.value.led_by, onchange: (led_by) => kept.keep({ led_by }) }) }),
    field({ label: t("briefing.notes"), control: textArea({ value: kept.value.notes, onchange: (notes) => kept.keep({ notes }) }) }),
  );
}

async function save(kept, site, orders, date, name, app) {
  const { crew, led_by, people: heard, conditions, controls, confirmed, notes } = kept.value;
  const entered = Object.fromEntries(Object.entries(conditions).filter(([, value]) => value !== null));
  const body = {
    id: crypto.randomUUID(),
    crew,
    site: site.id,
    led_by: led_by ?? session.person,
    orders: orders.map((order) => order.id),
    people: heard,
    conditions: entered,
    computed: computedShort(conditions),
    hazards: confirmed.map((code) => ({ code, control: controls[code] })),
    notes,
  };
  const row = { id: body.id, site: site.id, crew, at: new Date().toISOString(), people: heard };
  await queue("briefing", body, { writes: [dayWrite(date, (day) => ({ ...day, briefings: [...day.briefings, row] })), draftDone(name)] });
  app.go(orders.length === 1 ? `/order/${orders[0].id}/work` : "/");
}

export async function render(root, { site: id }, app) {
  const site = state.sites.get(id);
  if (!site) return void root.replaceChildren(pageHead(t("order.unknown"), "/"));
  const date = workDay(site);
  const orders = myOrders().filter((order) => order.site === id && !OVER.has(order.state) && !order.close_out);
  const name = `briefing/${date}/${id}`;
  const kept = await draft(name, await fresh(site, orders, date));
  root.replaceChildren(
    pageHead(t("briefing.title", { site: site.name }), "/"),
    notice(t("briefing.decides"), "caution"),
    weather(kept),
    hazards(kept, app),
    people(kept, date),
    actions(button(t("briefing.save"), () => save(kept, site, orders, date, name, app), { main: true })),
  );
  return undefined;
}
