// What the labels say, in short, and the labels and safety data sheets themselves, held on this tablet.

import { number, t } from "../core/i18n.js";
import { state } from "../core/state.js";
import { button, facts, h, notice, pageHead, section } from "../core/ui.js";
import { rateWords } from "../parts/limits_words.js";
import { limitWords } from "../parts/safety_limits.js";
import { documentKept } from "../parts/work_kept.js";
import { orderLinks, orderName, orderPath } from "../parts/work_links.js";
import { documentName, methodName } from "../parts/work_words.js";

const MINUTE_MS = 60_000;

function rate(use, order) {
  const parts = [];
  if (use.max_percent_vv) parts.push(t("label.percent", { n: number(use.max_percent_vv, 2) }));
  if (use.max_l_per_ha) parts.push(rateWords(use.max_l_per_ha));
  const method = order.work.find((row) => row.method.code === use.method)?.method ?? { code: use.method, name: use.method };
  return `${methodName(method)}: ${parts.join(", ") || t("label.see_label")}`;
}

const lines = (rows) => h("ul", { class: "plain" }, rows.map((text) => h("li", {}, text)));

function limits(product) {
  const kinds = ["label-mandatory", "label-advisory", "program-policy"];
  return kinds.flatMap((kind) => {
    const rows = (product.weather ?? []).filter((limit) => limit.kind === kind);
    return rows.length ? [[t(`label.${kind}`), lines(rows.map(limitWords))]] : [];
  });
}

function product(one, order, documents) {
  const rows = [
    [t("label.registration"), one.registration_number],
    [t("label.signal_word"), one.signal_word],
    [t("label.contains"), Object.entries(one.ingredients ?? {}).map(([name, grams]) => t("label.ingredient", { name, n: number(grams) })).join(", ")],
    [t("label.most"), one.uses?.length ? lines(one.uses.map((use) => rate(use, order))) : ""],
    ...limits(one),
    one.rain_free_hours ? [t("order.rain_free"), t("label.hours", { n: number(one.rain_free_hours) })] : null,
    one.restricted_entry_hours ? [t("label.entry_hours"), t("label.hours", { n: number(one.restricted_entry_hours) })] : null,
    [t("label.entry_rule"), one.entry_rule],
    [t("label.wear"), one.protective_equipment],
    one.least_water_distance_m ? [t("label.water"), t("map.m", { n: number(one.least_water_distance_m) })] : null,
    [t("label.storage"), one.storage_note],
    [t("label.version"), [one.label_version, one.label_reference, one.reviewed_on].filter(Boolean).join(" · ")],
  ];
  return section(
    one.name,
    one.cautions ? notice(one.cautions, "caution") : null,
    one.first_aid ? notice(h("div", {}, h("strong", {}, t("label.first_aid")), " ", one.first_aid), "caution") : null,
    facts(rows.filter((row) => row && row[1])),
    documents,
  );
}

/** A document as it is, in a tab of its own or as a file. */
async function openWhole(blob, name, asFile) {
  const address = URL.createObjectURL(blob);
  const opened = h("a", { href: address, target: "_blank", download: asFile ? name : null });
  opened.click();
  setTimeout(() => URL.revokeObjectURL(address), MINUTE_MS);
}

async function documentRow(document_) {
  const kind = documentName(document_.kind);
  const kept = await documentKept(document_.sha256);
  if (!kept) return notice(t("label.not_here", { kind }), "trouble");
  const blob = kept instanceof Blob ? kept : new Blob([kept], { type: document_.content_type });
  const typed = blob.type ? blob : new Blob([blob], { type: document_.content_type });
  return h(
    "div",
    { class: "row" },
    button(t("label.open", { kind }), () => openWhole(typed, document_.file_name, false)),
    button(t("label.download", { kind }), () => openWhole(typed, document_.file_name, true)),
  );
}

async function documentsOf(code) {
  const rows = state.products.get(code)?.documents ?? [];
  if (!rows.length) return [notice(t("label.no_documents"), "trouble")];
  return Promise.all(rows.map(documentRow));
}

async function draw(root, order) {
  const products = order?.label?.products ?? [];
  const documents = await Promise.all(products.map((one) => documentsOf(one.code)));
  const title = order ? orderName(order, state.sites.get(order.site)) : t("order.unknown");
  root.replaceChildren(
    pageHead(t("label.title"), order ? orderPath(order) : "/"),
    ...(order ? [orderLinks(order, "/label")] : []),
    h("p", { class: "lead" }, title),
    notice(t("label.law"), "caution"),
    ...(products.length ? products.map((one, place) => product(one, order, documents[place])) : [notice(t("label.none"))]),
  );
}

/** What comes while somebody reads is shown at once. */
export async function render(root, { id }) {
  const order = state.orders.get(id);
  const again = () => draw(root, order);
  await again();
  document.addEventListener("documents-changed", again);
  return () => document.removeEventListener("documents-changed", again);
}
