// The weather limits of labels and program in few words.

import { number, speed, t, temperature } from "../core/i18n.js";

const SHOWN = { wind_m_s: speed, temperature_c: temperature };
const isKnown = (value) => value !== null && value !== undefined;

function range(measure, low, high) {
  const shown = SHOWN[measure] ?? ((value) => number(value, 1));
  if (isKnown(low) && isKnown(high)) return t("limits.between", { low: shown(low), high: shown(high) });
  return isKnown(low) ? t("limits.least", { low: shown(low) }) : t("limits.most", { high: shown(high) });
}

export function limitWords({ measure, low, high }) {
  const name = SHOWN[measure] ? t(`limits.${measure}`) : measure;
  return `${name} ${range(measure, low, high)}`;
}

const tightest = (values, choose) => (values.length ? choose(...values) : null);

/** The tightest of all limits, one phrase a measure. */
export function limitsShort(limits) {
  const measures = [...new Set(limits.map((limit) => limit.measure))];
  return measures.map((measure) => {
    const of = limits.filter((limit) => limit.measure === measure);
    const low = tightest(of.map((limit) => limit.low).filter(isKnown), Math.max);
    const high = tightest(of.map((limit) => limit.high).filter(isKnown), Math.min);
    return limitWords({ measure, low, high });
  });
}
