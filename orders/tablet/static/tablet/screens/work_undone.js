// A day on which the work could not be done, and why.

import { day, t } from "../core/i18n.js";
import { queue } from "../core/outbox.js";
import { button, choices, confirmSheet, drawer, field, h, notice, select, textInput } from "../core/ui.js";
import { orderWrite } from "../parts/work_kept.js";

const REASONS = ["rain", "wind", "heat", "gate", "people", "ground", "other"];

export function undoneDrawer(order, kept, date, app) {
  const visits = (order.visits ?? []).filter((visit) => visit.state === "planned" && !(kept.not_done ?? []).includes(visit.id));
  if (!visits.length) return null;
  const said = { visit: (visits.find((visit) => visit.day === date) ?? visits[0]).id, reason: null, more: "" };
  const trouble = h("div", { role: "alert" });
  const send = async () => {
    if (!said.reason || (said.reason === "other" && !said.more.trim())) return trouble.replaceChildren(notice(t("undone.say_why"), "trouble"));
    if (!(await confirmSheet({ title: t("undone.ask"), body: t("undone.ask_more"), yes: t("undone.send") }))) return undefined;
    const reason = [said.reason === "other" ? "" : t(`undone.${said.reason}`), said.more.trim()].filter(Boolean).join(": ");
    const keep = orderWrite(order.id, (value) => ({ ...value, not_done: [...(value.not_done ?? []), said.visit] }));
    await queue("visit-not-done", { visit: said.visit, reason }, { order: order.id, writes: [keep] });
    return app.again();
  };
  const days = visits.map((visit) => ({ value: visit.id, label: day(visit.day) }));
  return drawer(
    t("undone.title"),
    visits.length > 1 ? field({ label: t("undone.day"), control: select({ options: days, value: said.visit, onchange: (visit) => { said.visit = visit; } }) }) : h("p", {}, days[0].label),
    choices({ legend: t("undone.why"), options: REASONS.map((code) => ({ value: code, label: t(`undone.${code}`) })), onchange: (reason) => { said.reason = reason; } }),
    field({ label: t("undone.more"), control: textInput({ maxlength: 200, onchange: (more) => { said.more = more; } }) }),
    trouble,
    button(t("undone.send"), send),
  );
}
