// What is read out when something happened: where we are, how help gets in, where it takes people.

import { distance, t } from "../core/i18n.js";
import { state } from "../core/state.js";
import { actions, button, facts, h, link, notice, pageHead, say, section } from "../core/ui.js";
import { followPlace } from "../parts/map_place.js";
import { spoken } from "../parts/map_geometry.js";
import { orderLinks, orderName, orderPath } from "../parts/work_links.js";

const telephone = (number) => `tel:${number.replace(/[^+\d]/g, "")}`;

function placeRows(point) {
  const { decimal, minutes } = spoken(point);
  const copy = async () => {
    await navigator.clipboard.writeText(decimal);
    say(t("emergency.copied"));
  };
  return h("div", { class: "coordinates" }, h("p", { class: "number" }, decimal), h("p", { class: "number" }, minutes), button(t("emergency.copy"), copy));
}

function meeting(plan) {
  if (plan.meeting_lon === null || plan.meeting_lon === undefined) return notice(t("emergency.no_meeting"), "trouble");
  return placeRows([plan.meeting_lon, plan.meeting_lat]);
}

function ownPlace() {
  const box = h("div", { class: "own-place" }, h("p", {}, t("map.looking")));
  followPlace(box, ({ point, accuracy_m, trouble }) => {
    if (!point) return box.replaceChildren(h("p", {}, t(`map.place_${trouble || "none"}`)));
    return box.replaceChildren(placeRows(point), h("p", {}, t("map.accuracy", { distance: distance(accuracy_m) })));
  });
  return box;
}

function help(plan) {
  const rows = [
    [t("emergency.hospital"), plan.medical_help],
    [t("emergency.address"), plan.medical_address],
    [t("emergency.radio"), plan.radio_or_phone],
    [t("emergency.access"), plan.access],
  ].filter(([, value]) => value);
  const call = plan.medical_phone ? h("a", { class: "plain-button", href: telephone(plan.medical_phone) }, t("emergency.call_hospital", { phone: plan.medical_phone })) : null;
  return [rows.length ? facts(rows) : notice(t("emergency.none"), "trouble"), call];
}

function reports(order) {
  const kinds = ["stop_work", "injury", "exposure", "spill"];
  return h("div", { class: "row" }, kinds.map((kind) => link(t(`incident.${kind}`), `/incident/${kind}/${order.id}`)));
}

export function render(root, { id }) {
  const order = state.orders.get(id);
  const site = state.sites.get(order?.site);
  if (!order) return void root.replaceChildren(pageHead(t("order.unknown"), "/"));
  const plan = site?.emergency ?? {};
  const number = t("emergency.number");
  root.replaceChildren(
    pageHead(t("emergency.title"), orderPath(order)),
    orderLinks(order, "/emergency"),
    h("p", { class: "lead" }, orderName(order, site)),
    section(t("emergency.meeting"), meeting(plan)),
    section(t("emergency.help"), help(plan)),
    section(t("emergency.own"), ownPlace()),
    section(t("emergency.report"), reports(order)),
    actions(h("a", { class: "danger-button emergency-call", href: telephone(number) }, t("emergency.call", { number }))),
  );
  return undefined;
}
