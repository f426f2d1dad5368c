// The way from one screen of an order to the others. The emergency plan is one tap away from each.

import { day, t } from "../core/i18n.js";
import { h, link } from "../core/ui.js";

export const orderPath = (order, more = "") => `/order/${order.id}${more}`;

export function orderName(order, site) {
  return t("order.name", { number: order.number, site: site?.name ?? "" });
}

/** `here`: the part of the path that is shown, left out of the row. */
export function orderLinks(order, here) {
  const links = [
    ["", "links.brief"],
    ["/map", "links.map"],
    ["/label", "links.label"],
    ["/work", "links.work"],
    ["/emergency", "links.emergency"],
  ];
  const fits = links.filter(([path]) => path !== here && (path !== "/label" || order.label?.products?.length));
  return h(
    "nav",
    { class: "order-links", "aria-label": t("links.name") },
    fits.map(([path, word]) => link(t(word), orderPath(order, path), path === "/emergency" ? { class: "plain-button emergency-link" } : {})),
  );
}

export const visitOn = (order, date) => (order.visits ?? []).find((visit) => visit.day === date && visit.state !== "not_done");

export function visitWords(order) {
  const days = (order.visits ?? []).map((visit) => day(visit.day));
  return days.length ? days.join(", ") : `${day(order.first_day)} – ${day(order.last_day)}`;
}
