// What was mixed, what is left of it, and what it means in product as packaged.

// Exact by definition: US gallon = 231 cubic inches, fluid ounce = 1/128 gallon.
export const UL = { L: 1e6, mL: 1e3, gal: 3785411.784, qt: 946352.946, "fl oz": 29573.5295625 };
const MG = { kg: 1e6, g: 1e3, lb: 453592.37, oz: 28349.523125 };

export const isVolume = (unit) => unit in UL;
export const small = (value, unit) => Math.round(Number(value) * (UL[unit] ?? MG[unit]));
export const inUnit = (amount, unit) => amount / (UL[unit] ?? MG[unit]);
export const rounded = (value, digits = 2) => Number(value.toFixed(digits));

// A row of the mix card for the volume that is really mixed, in the unit of the card.
export function scaled(load, volumeUl) {
  const factor = volumeUl / (load.volume_l * 1e6);
  return load.rows.map((row) => ({
    product: row.product,
    name: row.name,
    value: String(rounded(Number(row.amount) * factor)),
    unit: row.unit,
    origin: "prefilled",
  }));
}

export function carrier(volumeUl, parts) {
  const liquid = parts.filter((part) => isVolume(part.unit)).reduce(
    (sum, part) => sum + small(part.value, part.unit),
    0,
  );
  return Math.max(0, volumeUl - liquid);
}

export function oldestFirst(lots, product) {
  const own = lots.filter((lot) => lot.product === product);
  return own.sort((a, b) => String(a.received_on).localeCompare(String(b.received_on)));
}

const replaced = (rows) => new Set(rows.map((row) => row.replaces).filter(Boolean));
export const standing = (rows) => rows.filter((row) => !replaced(rows).has(row.id));
const sum = (rows, name) => rows.reduce((all, row) => all + (row[name] ?? 0), 0);

// What the day began with, what went where, and what is not accounted for. Carried over at the end of one day is what
// the next begins with; `left_ul` is what the office knew of a batch that this tablet did not mix.
export function balance(batch, day) {
  const uses = standing(batch.applications ?? []);
  const usedWithin = (after, before) => sum(
    uses.filter((row) => row.work_date > after && row.work_date < before),
    "volume_ul",
  );
  const ends = standing(batch.ends ?? []);
  const byDay = (one, other) => one.work_date.localeCompare(other.work_date);
  const earlier = ends.filter((end) => end.work_date < day).sort(byDay).at(-1);
  const end = ends.find((one) => one.work_date === day) ?? null;
  const stood = earlier ? earlier.carried_over_ul : (batch.left_ul ?? batch.volume_ul);
  const begun = Math.max(0, stood - usedWithin(earlier?.work_date ?? "", day));
  const used = sum(uses.filter((row) => row.work_date === day), "volume_ul");
  const [carried, disposed] = [end?.carried_over_ul ?? 0, end?.disposed_ul ?? 0];
  return { begun, used, carried, disposed, end, rest: begun - used, left: end ? carried : Math.max(0, begun - used) };
}

// 2% or 50 mL, whichever is more: what a marked tank can be read to. Invented, as the office has it.
export const isBalanced = (begun, rest) => Math.abs(rest) <= Math.max(begun * 0.02, 50_000);

export const isOpen = (batch, day) => balance(batch, day).left > 0;

// Product as packaged that one application took out of the bottle.
export function taken(batch, volumeUl) {
  return batch.parts.map((part) => ({
    product: part.product,
    lot: part.lot ?? null,
    lot_text: part.lot_text ?? "",
    unit: part.unit,
    value: (Number(part.value) * volumeUl) / batch.volume_ul,
  }));
}
