// Hazards of an order, each with the usual control. Common practice, and for heat, cold, ticks and poison ivy the
// published figures named in safety.js; the person in charge changes what does not fit the ground.

import { has, t } from "../core/i18n.js";

const ALWAYS = ["heat", "cold", "ticks", "poison-ivy"];
const ALL = ["heat", "cold", "saws", "slope", "vines", "ticks", "poison-ivy", "herbicide", "spray-weather", "water", "traffic", "lone-work"];

/** The codes of a site's orders first, in our order; herbicide brings the weather along. */
export function hazardCodes(orders, people) {
  const named = new Set([...ALWAYS, ...orders.flatMap((order) => order.hazards ?? [])]);
  if (named.has("herbicide")) named.add("spray-weather");
  if (people === 1) named.add("lone-work");
  const known = ALL.filter((code) => named.has(code));
  return [...known, ...[...named].filter((code) => !ALL.includes(code))];
}

export const hazardName = (code) => (has(`hazard.${code}`) ? t(`hazard.${code}`) : code);
export const usualControl = (code) => (has(`hazard.${code}.control`) ? t(`hazard.${code}.control`) : "");
export const actionWords = (code) => (has(`action.${code}`) ? t(`action.${code}`) : code);
export const bandWords = (kind, band) => t(`band.${kind}.${band}`);
