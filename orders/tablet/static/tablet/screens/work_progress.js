// How far each patch is: percent, stems cut, the ground that was done, photographs before and after.

import { area, t } from "../core/i18n.js";
import { state } from "../core/state.js";
import { button, h, notice, section, slider, stepper } from "../core/ui.js";
import { drawMap } from "../parts/map_draw.js";
import { shapesOf } from "../parts/map_shapes.js";
import { photos } from "../parts/photo_input.js";
import { changeOrder } from "../parts/work_kept.js";
import { methodName } from "../parts/work_words.js";

const STEP_PERCENT = 5;
const TEN = 10;

const keep = (order, row, part) =>
  changeOrder(order.id, (value) => ({ ...value, progress: { ...value.progress, [row.prescription]: { ...value.progress[row.prescription], ...part } } }));

function percent(order, row, now) {
  const shown = (value) => t("order.percent", { n: value });
  return slider({ label: t("work.percent"), value: now.percent ?? 0, step: STEP_PERCENT, shown, onchange: (value) => keep(order, row, { percent: value }) });
}

function stems(order, row, now) {
  const box = h("div", { class: "row" });
  let count = now.stems_cut ?? 0;
  const take = (value) => {
    count = value;
    keep(order, row, { stems_cut: count });
  };
  const draw = () => {
    const counter = stepper({ label: t("work.stems"), value: count, onchange: take });
    const ten = button(t("work.ten_more"), () => {
      take(count + TEN);
      draw();
    });
    box.replaceChildren(counter, ten);
  };
  draw();
  return h("div", {}, h("p", { class: "field-name" }, t("work.stems")), box);
}

function ground(order, row, kept) {
  const now = kept.progress[row.prescription] ?? {};
  const box = h("div", { class: "ground" });
  const told = (m2) => (m2 ? h("p", {}, t("work.drawn", { area: area(m2) })) : null);
  const open = () => {
    const site = state.sites.get(order.site);
    const points = (now.drawn?.coordinates?.[0] ?? []).slice(0, -1);
    box.replaceChildren(
      drawMap({
        shapes: shapesOf(order, site, null),
        fit: row.geometry ? [row.geometry] : null,
        tileUrl: state.policy.tile_url,
        name: t("work.draw_on", { code: row.patch_code }),
        points,
        onDone: async (drawn, m2) => {
          await keep(order, row, { drawn, area_done_m2: Math.round(m2 * 10) / 10 });
          Object.assign(now, { drawn, area_done_m2: m2 });
          close();
        },
      }),
      button(t("core.cancel"), close),
    );
  };
  const close = () => box.replaceChildren(...[told(now.area_done_m2), button(t("work.draw"), open, { "aria-label": t("work.draw_on", { code: row.patch_code }) })].filter(Boolean));
  close();
  return box;
}

function pictures(order, row, ids) {
  const about = (subject) => ({ subject, order: order.id, about: "prescription", aboutId: row.prescription });
  const buttons = ["before", "after"].map((subject) => ({ label: t(`photo.take_${subject}`), about: about(subject) }));
  const onKept = (id) => changeOrder(order.id, (value) => ({ ...value, photos: [...value.photos, id] }));
  return photos({ name: t("photo.of", { code: row.patch_code }), buttons, ids, onKept });
}

/** `photoIds`: photographs by prescription. */
export function progressSection(order, kept, photoIds) {
  const patch = (row) => {
    const now = kept.progress[row.prescription] ?? {};
    return h(
      "article",
      { class: "patch" },
      h("h3", {}, `${row.patch_code} ${row.patch_name} · ${methodName(row.method)}`),
      now.percent === undefined ? h("p", { class: "help" }, t("work.not_said")) : null,
      percent(order, row, now),
      row.stems ? stems(order, row, now) : null,
      ground(order, row, kept),
      pictures(order, row, photoIds.get(row.prescription) ?? []),
    );
  };
  return section(t("work.progress"), order.work.length ? order.work.map(patch) : notice(t("map.no_patches")));
}
