// How a record and its fields are told.
import { day, t } from "../core/i18n.js";
import { person, state } from "../core/state.js";
import { DEFAULT_PROFILE, dueOn } from "./records.js";
import { workDay } from "./timers_kept.js";

export const personName = (id) => person(id)?.name ?? "";
export const profileOf = (site) => site?.record ?? DEFAULT_PROFILE;
export const namesOf = (codes) => codes.map((code) => t(`record.field_${code}`)).join(", ");

export function stateOf(group, site, kept) {
  const due = dueOn(profileOf(site), group.work_date);
  const signed = kept?.signed;
  if (signed && !signed.missing.length) return {
    words: t("record.complete", { name: signed.signed_by }),
    kind: "good",
  };
  if (signed) return {
    words: t("record.incomplete", { fields: namesOf(signed.missing), day: day(due) }),
    kind: "caution",
  };
  const isLate = workDay(site) > due;
  return { words: t(isLate ? "record.late" : "record.due", { day: day(due) }), kind: isLate ? "trouble" : "" };
}

/** Of an order: the records that its uses ask for and that are not signed whole. */
export function openOf(order, groups, kept) {
  const own = groups.filter((group) => group.applications.some((one) => one.order === order.id));
  return own.filter(
    (group) => !kept[group.key]?.signed || kept[group.key].signed.missing.length,
  ).map((group) => ({ group, site: state.sites.get(group.site) }));
}
