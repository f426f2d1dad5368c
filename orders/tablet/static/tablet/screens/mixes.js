// All mixes of the day: what is open and how much of it is left, and what each order needs.
import { t, volume } from "../core/i18n.js";
import { myOrders, state } from "../core/state.js";
import { actions, add, facts, h, link, notice, pageHead, section } from "../core/ui.js";
import { batches, siteOf } from "../parts/closing_day.js";
import { batchFacts, batchName, mixName } from "../parts/mixes_words.js";
import { balance } from "../parts/mixes.js";
import { workDay } from "../parts/timers_kept.js";

export async function render(root) {
  const rows = Object.values(await batches());
  const used = rows.filter((batch) => batch.applications?.length || balance(batch, dayOf(batch)).left > 0);
  const orders = myOrders().filter((order) => order.mixes?.length && order.state !== "closed");
  add(
    root,
    pageHead(t("mix.title"), "/"),
    notice(t("mix.law"), "caution"),
    used.length ? used.map(open) : notice(t("mix.none_open")),
    orders.map(wanted),
    actions(link(t("mix.day_end"), "/day-end"), link(t("record.all"), "/records")),
  );
}

const dayOf = (batch) => workDay(state.sites.get(batch.site));

function open(batch) {
  return section(batchName(batch), facts(batchFacts(batch, dayOf(batch))), link(t("mix.look"), `/batch/${batch.id}`));
}

function wanted(order) {
  const rows = order.mixes.map((mix) => [mixName(mix), t("mix.needed", { amount: volume(mix.needed_l * 1e6) })]);
  const links = [
    link(t("mix.new"), `/mix/${order.id}`, { main: true }),
    link(t("spray.title"), `/weather/${order.id}`),
    link(t("apply.title"), `/apply/${order.id}`),
  ];
  return section(
    t("mix.for_order", { number: order.number, site: siteOf(order)?.name ?? "" }),
    facts(rows),
    h("div", { class: "row" }, links),
  );
}
