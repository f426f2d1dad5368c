// A plant where none was mapped: a point or an outline, which species, in which form, how dense.

import { t } from "../core/i18n.js";
import { queue } from "../core/outbox.js";
import { state } from "../core/state.js";
import { actions, choices, field, h, link, notice, pageHead, section, select, slider, textArea, textInput } from "../core/ui.js";
import { drawMap } from "../parts/map_draw.js";
import { placeNow } from "../parts/map_place.js";
import { shapesOf } from "../parts/map_shapes.js";
import { photos } from "../parts/photo_input.js";
import { draft, draftDone } from "../parts/work_kept.js";
import { formName } from "../parts/work_words.js";

const OTHER = "";
const STEP_PERCENT = 5;
const FRESH = { species: null, species_text: "", growth_form: null, points: [], cover_percent: null, note: "" };

function species(kept) {
  const known = (state.rest.species ?? []).map((one) => ({ value: one.code, label: `${one.common_name} (${one.scientific_name})` }));
  const named = field({ label: t("detection.species_text"), control: textInput({ value: kept.value.species_text, maxlength: 120, onchange: (species_text) => kept.keep({ species_text }) }) });
  named.hidden = kept.value.species !== OTHER && known.length > 0;
  const options = [{ value: "-", label: t("detection.choose") }, ...known, { value: OTHER, label: t("detection.other") }];
  const take = (code) => {
    named.hidden = code !== OTHER;
    kept.keep({ species: code === "-" ? null : code });
  };
  return [field({ label: t("detection.species"), control: select({ options, value: kept.value.species ?? "-", onchange: take }) }), named];
}

function form(kept) {
  const options = (state.rest.growth_forms ?? []).map(({ code, name }) => ({ value: code, label: formName({ code, name }) }));
  const shown = (value) => t("order.percent", { n: value });
  return [
    choices({ legend: t("detection.form"), options, value: kept.value.growth_form, onchange: (growth_form) => kept.keep({ growth_form }) }),
    slider({ label: t("detection.cover"), value: kept.value.cover_percent ?? 0, step: STEP_PERCENT, shown, onchange: (cover_percent) => kept.keep({ cover_percent }) }),
    field({ label: t("detection.note"), control: textArea({ value: kept.value.note, maxlength: 400, onchange: (note) => kept.keep({ note }) }) }),
  ];
}

function missing({ species: code, species_text, growth_form }) {
  if (code === null || (code === OTHER && !species_text.trim())) return "detection.say_species";
  return growth_form ? "" : "detection.say_form";
}

async function keep(kept, site, name, geometry) {
  const { species: code, species_text, growth_form, cover_percent, note } = kept.value;
  const found = await placeNow();
  const body = {
    id: crypto.randomUUID(),
    site: site.id,
    ...(code ? { species: code } : { species_text }),
    growth_form,
    geometry,
    accuracy_m: found?.accuracy_m ?? null,
    cover_percent,
    note,
  };
  await queue("detection", body, { writes: [draftDone(name)] });
  return body;
}

function showKept(root, body) {
  const about = { subject: "detection", about: "detection", aboutId: body.id };
  root.replaceChildren(
    pageHead(t("detection.kept"), "/"),
    notice(t("detection.kept_more"), "good"),
    section(t("photo.take"), photos({ name: t("photo.take"), buttons: [{ label: t("photo.take"), about }], ids: [] })),
    actions(link(t("core.home"), "/", { main: true })),
  );
}

export async function render(root, { site: id }) {
  const site = state.sites.get(id);
  if (!site) return void root.replaceChildren(pageHead(t("order.unknown"), "/"));
  const name = `detection/${id}`;
  const kept = await draft(name, FRESH);
  const trouble = h("div", { role: "alert" });
  const shapes = shapesOf(null, site, null);
  const map = drawMap({
    shapes,
    fit: shapes.map((shape) => shape.geometry),
    tileUrl: state.policy.tile_url,
    name: t("map.of", { site: site.name }),
    points: kept.value.points,
    isPointEnough: true,
    doneWords: t("detection.save"),
    onChange: (points) => kept.keep({ points }),
    onDone: async (geometry) => {
      const word = missing(kept.value);
      if (word) return trouble.replaceChildren(notice(t(word), "trouble"));
      return showKept(root, await keep(kept, site, name, geometry));
    },
  });
  root.replaceChildren(
    pageHead(t("detection.title", { site: site.name }), "/"),
    section(t("detection.what"), species(kept), form(kept)),
    section(t("detection.where"), h("p", {}, t("detection.where_help")), map, trouble),
  );
  return undefined;
}
