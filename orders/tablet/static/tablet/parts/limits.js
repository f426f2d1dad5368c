// May this mix be used in this weather? By the label card that the order carries, as the office works it out again.
// A label's mandatory limit lets nobody pass; its advice and the program's own may be let pass by a named person who
// says why.

export const MANDATORY = "label-mandatory";
const ADVISORY = "label-advisory";
const POLICY = "program-policy";
// 3 mph: below it wind turns as it likes, and air may lie in layers.
export const CALM_M_S = 1.34112;

const READ_AS = { wind_m_s: "wind_m_s", temperature_c: "air_temperature_c" };
const isKnown = (value) => value !== null && value !== undefined;

function passed(limit, value) {
  if (!isKnown(value)) return null;
  if (isKnown(limit.low) && value < limit.low) return { edge: "low", limit: limit.low };
  return isKnown(limit.high) && value > limit.high ? { edge: "high", limit: limit.high } : null;
}

function* ofProduct(product, reading) {
  const about = { product: product.code, name: product.name };
  for (const limit of product.weather ?? []) {
    const value = reading[READ_AS[limit.measure]];
    const over = passed(limit, value);
    const code = `${limit.measure.split("_")[0]}_${over?.edge}`;
    if (over) yield { ...about, kind: limit.kind, reference: limit.reference, code, value, limit: over.limit };
  }
  yield* gusts(product, reading.gust_m_s, about);
  for (const { measure, kind } of product.weather ?? []) {
    if (!isKnown(reading[READ_AS[measure]])) yield { ...about, kind, code: "not_measured", measure };
  }
  const [free, expected] = [product.rain_free_hours, reading.rain_expected_hours];
  if (isKnown(free) && isKnown(expected) && expected < free) {
    yield { ...about, kind: ADVISORY, code: "rain", value: expected, limit: free };
  }
}

// A gust above a limit of wind passes that limit; one below the least wind says nothing.
function* gusts(product, gust, about) {
  for (const limit of product.weather ?? []) {
    const over = limit.measure === "wind_m_s" ? passed(limit, gust) : null;
    if (over?.edge !== "high") continue;
    yield { ...about, kind: limit.kind, reference: limit.reference, code: "gust_high", value: gust, limit: over.limit };
  }
}

function* ofAir(reading) {
  if (reading.inversion_signs) yield { kind: POLICY, code: "inversion" };
  else if (isKnown(reading.wind_m_s) && reading.wind_m_s < CALM_M_S) {
    yield { kind: POLICY, code: "calm", value: reading.wind_m_s, limit: CALM_M_S };
  }
}

/** Every limit that stands against the use, in the order of the products. `card`: the order's label card. */
export function findings(card, reading) {
  const products = card?.products ?? [];
  const found = [
    ...products.flatMap((product) => [...ofProduct(product, reading)]),
    ...(products.length ? ofAir(reading) : []),
  ];
  const seen = new Set();
  return found.filter((one) => !seen.has(JSON.stringify(one)) && seen.add(JSON.stringify(one)));
}

export function verdict(found) {
  if (found.some((one) => one.kind === MANDATORY)) return "no_go";
  return found.length ? "advised_against" : "go";
}
