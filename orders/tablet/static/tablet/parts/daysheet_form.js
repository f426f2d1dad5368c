// One person's lines of the day, each with its minutes; what nobody touched says where it comes from.
import { minutes, t } from "../core/i18n.js";
import { myOrders, state } from "../core/state.js";
import { add, button, field, h, section, select, stepper } from "../core/ui.js";
import { untouched } from "./closing_forms.js";
import { CODES, total } from "./daysheet.js";
import { orderName as named } from "./work_links.js";

const STEP_MINUTES = 15;
const MARKS = { timer: "close.from_timer", prefilled: "close.from_estimate" };
const markOf = (line) => (line.code === "drive" && line.origin === "prefilled" ? "sheet.from_site" : MARKS[line.origin]);

export function orderName(id) {
  const order = state.orders.get(id);
  return order ? named(order, state.sites.get(order.site)) : t("sheet.other_order");
}

const lineName = (line) => (line.code === "work" && line.order ? orderName(line.order) : t(`time.code.${line.code}`));

export function personSheet(page, member) {
  const own = page.draft.people[member.person];
  const sum = h("output", { class: "total", "aria-live": "polite" });
  const count = () => (sum.textContent = minutes(total(own.lines)));
  const rows = h("div", { class: "hours" });
  const touched = () => {
    own.isTouched = true;
    count();
    page.changed();
  };
  for (const line of own.lines) add(rows, lineRow(member, line, touched));
  count();
  return section(
    t("sheet.of", { name: member.name }),
    h("p", { class: "total-row" }, t("sheet.paid"), " ", sum),
    rows,
    adding(member, own, rows, touched),
  );
}

function lineRow(member, line, touched) {
  const mark = h("span", { class: "mark" }, markOf(line) ? untouched(markOf(line)) : null);
  const label = t("sheet.line_of", { what: lineName(line), name: member.name });
  const put = (value) => {
    Object.assign(line, { minutes: value, origin: "typed" });
    mark.replaceChildren();
    touched();
  };
  const control = stepper({
    label,
    value: line.minutes,
    step: STEP_MINUTES,
    max: 24 * 60,
    shown: minutes,
    onchange: put,
  });
  return h("div", { class: "hour-row" }, h("span", { class: "hour-name" }, lineName(line)), control, mark);
}

function adding(member, own, rows, touched) {
  const has = (code, order) => own.lines.some((line) => line.code === code && line.order === order);
  const work = myOrders().filter((order) => !has("work", order.id)).map(
    (order) => ({ value: `work ${order.id}`, label: orderName(order.id) }),
  );
  const codes = CODES.filter((code) => code !== "work" && !has(code, null)).map(
    (code) => ({ value: code, label: t(`time.code.${code}`) }),
  );
  const chooser = select({ options: [...codes, ...work], value: codes[0]?.value ?? work[0]?.value ?? "" });
  const more = button(t("sheet.add_line"), () => {
    const [code, order = null] = chooser.value.split(" ");
    if (!code || has(code, order)) return;
    const line = { code, order, minutes: STEP_MINUTES, origin: "typed", note: "" };
    own.lines.push(line);
    add(rows, lineRow(member, line, touched));
    touched();
  }, { "aria-label": t("sheet.add_line_of", { name: member.name }) });
  return h("div", { class: "row" }, field({ label: t("sheet.which_line"), control: chooser }), more);
}
