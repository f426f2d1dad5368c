// The application records that are owed for what was applied here, and how long there is to sign them.
import { day, t } from "../core/i18n.js";
import { state } from "../core/state.js";
import { read } from "../core/work.js";
import { add, facts, link, notice, pageHead, section } from "../core/ui.js";
import { batches } from "../parts/closing_day.js";
import { personName, stateOf } from "../parts/records_words.js";
import { owed } from "../parts/records_fill.js";
import { batchName } from "../parts/mixes_words.js";

export async function render(root) {
  const [known, kept] = await Promise.all([batches(), read("records", {})]);
  const groups = owed(known);
  add(
    root,
    pageHead(t("record.all"), "/mixes"),
    notice(t("record.apart")),
    groups.length ? groups.map((group) => one(group, known[group.batch], kept[group.key])) : notice(t("record.none")),
  );
}

function one(group, batch, kept) {
  const site = state.sites.get(group.site);
  const rows = [
    [t("record.place"), site?.name ?? ""],
    [t("record.day"), day(group.work_date)],
    [t("apply.responsible"), personName(group.responsible)],
  ];
  const { words, kind } = stateOf(group, site, kept);
  return section(
    batchName(batch),
    facts(rows),
    notice(words, kind),
    link(t(kept?.signed ? "record.open_signed" : "record.open"), `/record/${group.key}`, { main: !kept?.signed }),
  );
}
