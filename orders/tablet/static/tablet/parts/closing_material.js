// Product as packaged, by lot: out of the mixes that were applied, and what somebody adds by hand.
import { number, t } from "../core/i18n.js";
import { state } from "../core/state.js";
import { button, facts, field, h, numberInput, section, select } from "../core/ui.js";
import { productOf } from "./closing_day.js";
import { live } from "./closing_forms.js";

/** In stock, and those that the close-out names already. */
export const lotsOf = ({ order, told }) => [...new Map(
  [...(told?.lots ?? []), ...(order.lots ?? []), ...(state.rest.lots ?? [])].map((lot) => [lot.id, lot]),
).values()];

export function materialSection(page) {
  const { draft, order, changed } = page;
  const lots = lotsOf(page);
  if (!draft.materials.length && !order.mixes?.length) return null;
  const numbers = new Map(lots.map((lot) => [lot.id, lot.lot_number]));
  const [box, redraw] = live(() => {
    const mixed = draft.materials.filter((row) => row.origin === "batch");
    const rows = mixed.map(
      (row) => [
        `${productOf(row.product).name} · ${t("close.lot", { lot: numbers.get(row.lot) ?? (row.lot_text || "?") })}`,
        `${number(row.value, 2)} ${row.unit}`,
      ],
    );
    return [
      rows.length ? [
        h("p", { class: "help" }, t("close.material_help")),
        facts(rows),
      ] : h("p", {}, t("close.no_material")),
      draft.materials.filter((row) => row.origin === "typed").map((row) => typedRow(page, row, lots, redraw)),
    ];
  });
  const more = button(t("close.add_material"), () => {
    draft.materials.push({
      visit: order.visits.at(-1).id,
      work_date: page.facts.days.at(-1),
      prescription: null,
      product: lots[0].product,
      lot: lots[0].id,
      value: 0,
      unit: "fl oz",
      origin: "typed",
    });
    changed();
    redraw();
  });
  return section(t("close.material"), box, lots.length ? more : null);
}

function typedRow(page, row, lots, redraw) {
  const { draft, changed } = page;
  const put = (values) => {
    Object.assign(row, values);
    changed();
  };
  const options = lots.map((lot) => ({ value: lot.id, label: `${productOf(lot.product).name} · ${lot.lot_number}` }));
  const units = ["fl oz", "qt", "gal", "mL", "L", "oz", "lb", "g", "kg"].map((unit) => ({ value: unit, label: unit }));
  const strike = () => {
    changed({ materials: draft.materials.filter((one) => one !== row) });
    redraw();
  };
  return h(
    "div",
    { class: "part-row" },
    field({
      label: t("close.which_lot"),
      control: select({
        options,
        value: row.lot,
        onchange: (id) => put({ lot: id, product: lots.find((lot) => lot.id === id).product }),
      }),
    }),
    field({
      label: t("close.amount"),
      control: numberInput({ value: row.value || null, min: 0, onchange: (value) => put({ value: value ?? 0 }) }),
    }),
    field({
      label: t("close.unit_of"),
      control: select({ options: units, value: row.unit, onchange: (unit) => put({ unit }) }),
    }),
    button(t("close.strike"), strike, { "aria-label": t("close.strike_of", { product: productOf(row.product).name }) }),
  );
}
