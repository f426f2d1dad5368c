// What the labels hold against a mix or a use of it: strength, rate, and the method itself. All of these are mandatory,
// as the office works them out again: nobody lets them pass, and what was done all the same is a deviation.
import { isVolume, small } from "./mixes.js";

// Rounding on the way from a typed figure must not make a deviation: a thousandth, as the office has it.
const SLACK = 1.001;
const UL_PER_L = 1e6;
const M2_PER_HA = 10_000;

const isOver = (value, most) => most !== null && most !== undefined && value !== null && value > most * SLACK;

function litersPerHectare({ used_ul, area_m2 }, percent) {
  if (!area_m2 || !(used_ul > 0)) return null;
  return ((used_ul * percent) / 100 / UL_PER_L / area_m2) * M2_PER_HA;
}

function* ofPart(part, label, known, mixed) {
  const about = { product: part.product, name: label?.name ?? known.name };
  const uses = label?.uses ?? [];
  const use = uses.find((row) => row.method === mixed.method);
  if (!(label ? use : known.methods?.includes(mixed.method))) {
    yield { ...about, code: "method" };
    return;
  }
  if (!use || !isVolume(part.unit) || !(mixed.volume_ul > 0)) return; // what is weighed has no percent by volume
  const percent = (small(part.value, part.unit) / mixed.volume_ul) * 100;
  if (isOver(percent, use.max_percent_vv)) yield { ...about, code: "strength", value: percent, limit: use.max_percent_vv };
  const rate = litersPerHectare(mixed, percent);
  if (isOver(rate, use.max_l_per_ha)) yield { ...about, code: "rate", value: rate, limit: use.max_l_per_ha };
}

/** `card`: the order's label card. `products`: by code, for what is in the mix and not on the order. `mixed`: {parts,
 * volume_ul, method}, and of a use {used_ul, area_m2}. */
export function deviations(card, products, mixed) {
  const labels = new Map((card?.products ?? []).map((one) => [one.code, one]));
  const found = mixed.parts.flatMap((part) => {
    const known = products.get(part.product);
    const label = labels.get(part.product);
    const isJudged = mixed.method && known?.is_herbicide !== false && (label || known);
    return isJudged ? [...ofPart(part, label, known, mixed)] : [];
  });
  return found;
}

/** The checks that count for a use, as the office takes them: the last before it, those during it, and the first after
 * it where it is of the end. `checks`: the oldest first. */
export function checksBeside(checks, { started_at: start, ended_at: end }) {
  if (!start) return checks.slice(-1);
  const over = end && end > start ? end : start;
  const before = checks.filter((one) => one.at <= start).slice(-1);
  const during = checks.filter((one) => one.at > start && one.at <= over);
  const after = checks.find((one) => one.at > over);
  return [...before, ...during, ...(after?.purpose === "end" ? [after] : [])];
}

/** Advice that nobody let pass, neither in that check nor in a later one of the day. */
export function isUnpassed(checks, beside) {
  return beside.some((check) =>
    check.verdict === "advised_against" && check.purpose !== "end"
      && !checks.some((later) => later.at >= check.at && later.passed_by));
}
