// One batch: what is in it, where it went, and what is left.
import { clock, t, volume } from "../core/i18n.js";
import { myOrders, person, state } from "../core/state.js";
import { actions, add, facts, h, link, notice, pageHead, section } from "../core/ui.js";
import { batches } from "../parts/closing_day.js";
import { isOpen, standing } from "../parts/mixes.js";
import { batchFacts, batchName, partWords } from "../parts/mixes_words.js";
import { workDay } from "../parts/timers_kept.js";

export async function render(root, params) {
  const batch = (await batches())[params.id];
  if (!batch) {
    add(root, pageHead(t("mix.title"), "/mixes"), notice(t("mix.not_here"), "trouble"));
    return;
  }
  const site = state.sites.get(batch.site);
  const day = workDay(site);
  const orders = myOrders().filter(
    (order) => order.site === batch.site && order.mixes?.length && order.state !== "closed",
  );
  const told = [...batchFacts(batch, day), [t("mix.mixed_by"), person(batch.mixed_by)?.name ?? ""]];
  const label = batch.order ? link(t("mix.safety_data"), `/order/${batch.order}/label`) : null;
  const links = orders.map(
    (order) => link(
      t("apply.for_order", { number: order.number }),
      `/apply/${order.id}`,
      { main: order.id === batch.order },
    ),
  );
  add(
    root,
    pageHead(batchName(batch), "/mixes"),
    notice(t("mix.write_on", { container: batch.container || "–" }), "caution"),
    section(t("mix.what"), facts(told), h("ul", {}, batch.parts.map((part) => h("li", {}, partWords(part)))), label),
    went(batch, site?.time_zone),
    actions(link(t("mix.day_end"), "/day-end"), isOpen(batch, day) ? links : null),
  );
}

function went(batch, zone) {
  const rows = standing(batch.applications ?? []).map((one) => {
    const order = state.orders.get(one.order);
    const patch = order?.work.find((row) => row.prescription === one.prescription);
    return [
      t("apply.at", {
        number: order?.number ?? "",
        patch: patch?.patch_name ?? "",
        from: clock(one.started_at, zone),
        to: clock(one.ended_at, zone),
      }),
      volume(one.volume_ul),
    ];
  });
  return section(t("mix.went"), rows.length ? facts(rows) : h("p", {}, t("mix.not_used")));
}
