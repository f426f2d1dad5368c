// Who is on the crew, what each may do, and who supervises whom.

import { day, t } from "../core/i18n.js";
import { crewPeople, state } from "../core/state.js";
import { h, section } from "../core/ui.js";
import { mayApply } from "../parts/mixes_who.js";
import { hasSaw, orderDangers, qualificationsOn } from "../parts/safety_people.js";
import { mayReason } from "../parts/work_words.js";

function qualification(row) {
  const by = row.supervised_by_name ? t("people.supervised_by", { name: row.supervised_by_name }) : "";
  const named = [row.name, row.number, row.category].filter(Boolean).join(" ");
  return [named, by, row.last_day ? t("people.until", { day: day(row.last_day) }) : ""].filter(Boolean).join(" · ");
}

function mayWords(order, site, member, members, date) {
  const { herbicide, saws } = orderDangers(order);
  if (member.of_age === false) return [[false, t("people.under_age_more")]];
  const rows = [];
  if (herbicide && site) {
    const products = (order.label?.products ?? []).map((one) => state.products.get(one.code) ?? one);
    const { may, why } = mayApply(member, site, date, members, products);
    rows.push([may, `${t(may ? "people.may_apply" : "people.may_not_apply")} (${mayReason(why)})`]);
  }
  if (saws) rows.push([hasSaw(member, date), t(hasSaw(member, date) ? "people.may_saw" : "people.may_not_saw")]);
  return rows;
}

function person(order, site, member, members, date) {
  const title = [member.name, member.is_lead ? t("people.lead") : ""].filter(Boolean).join(" · ");
  const held = qualificationsOn(member, date).map((row) => h("li", {}, qualification(row)));
  const may = mayWords(order, site, member, members, date).map(([isYes, text]) =>
    h("li", { class: isYes ? "state-good" : "state-bad" }, `${isYes ? "✓" : "✕"} ${text}`),
  );
  return h("li", { class: "person" }, h("h3", {}, title), h("ul", { class: "plain" }, may, held));
}

export function peopleSection(order, site, date) {
  const members = crewPeople(order.crew, date);
  return section(t("people.title"), h("ul", { class: "people" }, members.map((member) => person(order, site, member, members, date))));
}
