// What stands against saving a use of a mix: what is missing, the weather, and the labels' strengths and rates.
import { t, volume } from "../core/i18n.js";
import { state } from "../core/state.js";
import { h, link, notice } from "../core/ui.js";
import { isAlone, outsideMark, outsideNotice } from "./limits_words.js";
import { balance } from "./mixes.js";
import { isLate } from "./mixes_apply.js";
import { checksBeside, deviations, isUnpassed } from "./strengths.js";

function outsideOf({ order, batch, draft, checks }) {
  const row = order.work.find((one) => one.prescription === draft.prescription);
  const { volume_ul: used_ul, area_m2 } = draft;
  const use = { parts: batch.parts, volume_ul: batch.volume_ul, method: row?.method.code, used_ul, area_m2 };
  const beside = checksBeside(checks, draft);
  const head = beside.some((one) => one.verdict === "no_go") ? [t("apply.no_go")] : [];
  return { head, found: deviations(order.label, state.products, use), isUnpassed: isUnpassed(checks, beside) };
}

function weatherSaid({ order, checks }, outside) {
  const to = link(t("spray.title"), `/weather/${order.id}`);
  if (!checks.length) return notice(h("div", {}, t("apply.no_weather"), to), "caution");
  return outside.isUnpassed ? notice(h("div", {}, t("apply.not_passed"), to), "caution") : null;
}

function missing({ draft }) {
  return [
    ...(draft.prescription ? [] : [t("apply.wrong_patch")]),
    ...(draft.people.length ? [] : [t("apply.wrong_people")]),
    ...(draft.responsible ? [] : [t("apply.wrong_responsible")]),
    ...(draft.started_at && draft.ended_at && draft.started_at <= draft.ended_at ? [] : [t("apply.wrong_time")]),
    ...(draft.volume_ul > 0 ? [] : [t("apply.wrong_volume")]),
  ];
}

function saidOutside({ draft, order, changed }, outside) {
  const mark = outsideMark(outside.head.length, outside.found);
  return outsideNotice({
    ...outside,
    help: t("apply.deviation_help"),
    press: t("apply.did_all_the_same"),
    pressed: t("apply.is_deviation"),
    isSaid: draft.deviation === mark,
    onsay: () => changed({ deviation: mark }),
    more: outside.head.length ? link(t("spray.title"), `/weather/${order.id}`) : null,
  });
}

/** {wrong, told}: what keeps it from being saved, one line each, and what is said beside. */
export function judged(page, isOtherMix) {
  const { draft, batch, day, members } = page;
  const left = balance(batch, day).left;
  const outside = outsideOf(page);
  const isOutside = outside.head.length + outside.found.length > 0;
  const isSaid = draft.deviation === outsideMark(outside.head.length, outside.found);
  const wrong = [
    ...missing(page),
    ...(isOutside && !isSaid ? [t(outside.found.length ? "apply.wrong_outside" : "apply.wrong_no_go")] : []),
    ...(outside.isUnpassed ? [t("apply.wrong_not_passed")] : []),
  ];
  const told = [
    isOtherMix ? notice(t("apply.other_mix"), "caution") : null,
    isLate(draft) ? notice(t("apply.late"), "caution") : null,
    draft.volume_ul > left ? notice(t("apply.more_than_left", { amount: volume(left) }), "caution") : null,
    isAlone(members) ? notice(t("mix.alone"), "caution") : null,
    weatherSaid(page, outside),
    saidOutside(page, outside),
  ];
  return { wrong, told };
}
