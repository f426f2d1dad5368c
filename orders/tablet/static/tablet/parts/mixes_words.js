// How a batch and its parts are told.
import { day, number, t, volume } from "../core/i18n.js";
import { state } from "../core/state.js";
import { productOf } from "./closing_day.js";
import { balance, rounded } from "./mixes.js";

export const mixName = (mix) => mix.name || mix.code;

export function mixOf(batch) {
  return [...state.orders.values()].flatMap((order) => order.mixes ?? []).find((mix) => mix.id === batch.mix) ?? null;
}

export function batchName(batch) {
  const mix = mixOf(batch);
  const what = mix ? mixName(mix) : batch.parts.map((part) => productOf(part.product).name).join(" + ");
  return t("mix.batch_name", { what, container: batch.container || "–" });
}

export const partWords = (part) => `${productOf(part.product).name}: ${number(rounded(Number(part.value)), 2)} ${part.unit}`;

export function batchFacts(batch, today) {
  const now = balance(batch, today);
  const rows = [
    [t("mix.mixed_on"), day(batch.work_date)],
    [t("mix.volume"), volume(batch.volume_ul)],
    [t("mix.used_today"), volume(now.used)],
    [t("mix.left"), volume(now.left)],
  ];
  return now.begun === batch.volume_ul ? rows : [
    ...rows.slice(0, 2),
    [t("mix.begun"), volume(now.begun)],
    ...rows.slice(2),
  ];
}
