// What goes into a batch: amounts from the mix card until touched, the lot of each, and in which order.
import { language, t, volume } from "../core/i18n.js";
import { state } from "../core/state.js";
import { choices, field, h, link, notice, numberInput, section, select } from "../core/ui.js";
import { quantity, text, untouched } from "./closing_forms.js";
import { oldestFirst, scaled } from "./mixes.js";
import { mixName } from "./mixes_words.js";

export const UNKNOWN_LOT = "";

const lotsOf = (order, product) => oldestFirst(
  [...(order.lots ?? []), ...(state.rest.lots ?? [])].filter(once),
  product,
);
const once = (lot, place, all) => all.findIndex((one) => one.id === lot.id) === place;

/** What the card says of one tank load, or of another volume. */
export function loadOf(order, mix, number = mix.loads[0]?.number ?? null) {
  const load = mix.loads.find((one) => one.number === number);
  const volume = Math.round((load?.volume_l ?? mix.needed_l) * 1e6);
  return { mix: mix.id, load: number, volume_ul: volume, parts: partsOf(order, mix, number, volume, []) };
}

export function partsOf(order, mix, number, volumeUl, kept) {
  const load = mix.loads.find((one) => one.number === number);
  if (!load) return kept;
  return scaled(load, volumeUl).map((part) => {
    const old = kept.find((one) => one.product === part.product);
    const lot = old?.lot ?? lotsOf(order, part.product)[0]?.id ?? UNKNOWN_LOT;
    return old?.origin === "typed" ? old : { ...part, lot, lot_text: old?.lot_text ?? "" };
  });
}

export function partRows(order, draft, save) {
  return draft.parts.map((part) => partRow(order, part, save));
}

function partRow(order, part, save) {
  const mark = h("span", {}, part.origin === "prefilled" ? untouched("mix.from_card") : null);
  const typed = (value) => {
    Object.assign(part, { value: value === null ? "" : String(value), origin: "typed" });
    mark.replaceChildren();
    save();
  };
  const amount = numberInput({ value: Number(part.value), min: 0, unit: part.unit, onchange: typed });
  return h(
    "div",
    { class: "part-row" },
    field({ label: t("mix.amount_of", { product: part.name }), control: amount }),
    mark,
    lotField(order, part, save),
  );
}

function lotField(order, part, save) {
  const lots = lotsOf(order, part.product);
  const options = [
    ...lots.map((lot) => ({ value: lot.id, label: lot.lot_number })),
    { value: UNKNOWN_LOT, label: t("mix.other_lot") },
  ];
  const other = text(t("mix.lot_as_printed", { product: part.name }), part.lot_text, (value) => {
    part.lot_text = value;
    save();
  }, { maxlength: 40 });
  other.hidden = part.lot !== UNKNOWN_LOT;
  const chosen = (lot) => {
    part.lot = lot;
    other.hidden = lot !== UNKNOWN_LOT;
    save();
  };
  const label = t("mix.lot_of", { product: part.name });
  return [field({ label, control: select({ options, value: part.lot, onchange: chosen }) }), other];
}

export const partsWrong = (parts) => parts.filter((part) => !(Number(part.value) > 0)).map(
  (part) => t("mix.wrong_amount", { product: part.name }),
);

export function whatMixed(page) {
  const { draft, order, changed } = page;
  const mix = order.mixes.find((one) => one.id === draft.mix);
  const mixes = order.mixes.map((one) => ({ value: one.id, label: mixName(one) }));
  const loads = mix.loads.map(
    (load) => ({ value: load.number, label: t("mix.load", { n: load.number, amount: volume(load.volume_l * 1e6) }) }),
  );
  return section(
    t("mix.what"),
    mixes.length > 1 ? choices({
      legend: t("mix.which"),
      options: mixes,
      value: draft.mix,
      onchange: (id) => page.anew(loadOf(order, order.mixes.find((one) => one.id === id))),
    }) : h("p", {}, mixName(mix)),
    loads.length > 1 ? choices({
      legend: t("mix.which_load"),
      options: loads,
      value: draft.load,
      onchange: (number) => page.anew(loadOf(order, mix, number)),
    }) : null,
    quantity("volume", {
      label: t("mix.whole_volume"),
      near: draft.volume_ul,
      value: draft.volume_ul,
      onchange: (ul) => changed(
        { volume_ul: ul, parts: ul ? partsOf(order, mix, draft.load, ul, draft.parts) : draft.parts },
        true,
      ),
    }),
  );
}

export function orderOfMixing({ order, draft }) {
  const mix = order.mixes.find((one) => one.id === draft.mix);
  const load = mix.loads.find((one) => one.number === draft.load);
  const [steps, cautions] = [load?.order_of_mixing, load?.cautions].map((told) => told?.[language] ?? []);
  const worn = order.protective_equipment ?? [];
  return section(
    t("mix.how"),
    steps.length ? h("ol", {}, steps.map((step) => h("li", {}, step))) : null,
    cautions.length ? notice(h("ul", {}, cautions.map((told) => h("li", {}, told))), "caution") : null,
    worn.length ? h("ul", {}, worn.map((one) => h("li", {}, one))) : null,
    link(t("mix.safety_data"), `/order/${order.id}/label`),
  );
}
