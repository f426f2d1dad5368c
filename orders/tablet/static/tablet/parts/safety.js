// The day's weather as a hazard, with the same figures as the program's own modules. Fahrenheit and miles an hour only
// inside the published formulas. Sources: heat index, National Weather Service (Rothfusz SR 90-23); wind chill, National
// Weather Service 2001; heat bands, OSHA "Using the Heat Index"; work and rest, NIOSH 2016-106; getting used to heat, NIOSH.

const M_S_PER_MPH = 0.44704;
const FULL_SUN_ADDS_F = 15;
const WIND_CHILL_TO_F = 50;
const WIND_CHILL_FROM_MPH = 3;
// From which degree on; an edge counts to the hotter, or the colder, one. Actions are codes: hazards say them in words.
const HEAT_BANDS = [
  ["none", -Infinity, []],
  ["lower", 80, ["water_quart_an_hour", "shade", "breaks_as_needed"]],
  ["moderate", 91, ["water_quart_an_hour", "shade", "rest_15_every_2_hours", "watch_each_other", "ease_in_new_people"]],
  ["high", 103, [
    "water_quart_an_hour",
    "shade",
    "rest_15_every_2_hours",
    "watch_each_other",
    "ease_in_new_people",
    "heavy_work_early",
    "know_the_signs",
  ]],
  ["very_high", 115, ["another_day", "watch_each_other", "know_the_signs"]],
];
const COLD_BANDS = [
  ["none", Infinity, []],
  ["cold", 40, ["stay_dry", "warm_breaks", "watch_each_other"]],
  ["very_cold", 0, ["stay_dry", "cover_skin", "warm_breaks", "watch_each_other"]],
  ["frostbite", -18, ["another_day", "cover_skin", "watch_each_other"]],
];
const WORK_REST_FIRST_F = 95;
const WORK_MINUTES = {
  light: [60, 60, 60, 60, 60, 60, 60, 60, 60, 60, 60, 45, 40, 35, 30, 15, 0],
  moderate: [60, 60, 60, 60, 60, 45, 40, 35, 30, 30, 25, 20, 15, 0, 0, 0, 0],
  heavy: [45, 45, 40, 35, 35, 30, 30, 25, 20, 20, 15, 0, 0, 0, 0, 0, 0],
};
export const ACCLIMATIZATION = { new: [0.2, 0.4, 0.6, 0.8, 1], returning: [0.5, 0.6, 0.8, 1] };
export const WORKLOADS = ["light", "moderate", "heavy"];

export const fahrenheit = (celsius) => (celsius * 9) / 5 + 32;
export const celsius = (degreesF) => ((degreesF - 32) * 5) / 9;
export const milesPerHour = (metersPerSecond) => metersPerSecond / M_S_PER_MPH;

/** Apparent temperature in °F: the regression of 1990 with both adjustments; below 80 °F the simple form. */
export function heatIndexF(air, humidity) {
  const simple = 0.5 * (air + 61 + (air - 68) * 1.2 + 0.094 * humidity);
  if (simple < 80) return simple;
  return regressionF(air, humidity) - dryF(air, humidity) + dampF(air, humidity);
}

function regressionF(air, humidity) {
  return (
    -42.379 +
    2.04901523 * air +
    10.14333127 * humidity -
    0.22475541 * air * humidity -
    0.00683783 * air ** 2 -
    0.05481717 * humidity ** 2 +
    0.00122874 * air ** 2 * humidity +
    0.00085282 * air * humidity ** 2 -
    0.00000199 * air ** 2 * humidity ** 2
  );
}

function dryF(air, humidity) {
  if (humidity >= 13 || air < 80 || air > 112) return 0;
  return ((13 - humidity) / 4) * Math.sqrt((17 - Math.abs(air - 95)) / 17);
}

function dampF(air, humidity) {
  return humidity > 85 && air >= 80 && air <= 87 ? ((humidity - 85) / 10) * ((87 - air) / 5) : 0;
}

// Degrees turned from Celsius must not fall under an edge by rounding alone.
const rounded = (value) => Math.round(value * 1e9) / 1e9;

/** `strenuous`: heavy work, or clothing that holds heat; it is one band further, except where it is not hot at all. */
export function heatRisk({ air_temperature_c, relative_humidity_percent, full_sun = false, strenuous = false }) {
  const index = heatIndexF(fahrenheit(air_temperature_c), relative_humidity_percent);
  const felt = index + (full_sun ? FULL_SUN_ADDS_F : 0);
  let place = HEAT_BANDS.findLastIndex(([, from]) => rounded(felt) >= from);
  if (strenuous && place) place = Math.min(place + 1, HEAT_BANDS.length - 1);
  const [band, , actions] = HEAT_BANDS[place];
  return { heat_index_c: celsius(index), felt_c: celsius(felt), band, actions };
}

export function windChillF(air, windMph) {
  if (air > WIND_CHILL_TO_F || windMph < WIND_CHILL_FROM_MPH) return air;
  const power = windMph ** 0.16;
  return 35.74 + 0.6215 * air - 35.75 * power + 0.4275 * air * power;
}

export function coldRisk({ air_temperature_c, wind_m_s }) {
  const felt = windChillF(fahrenheit(air_temperature_c), milesPerHour(wind_m_s));
  const [band, , actions] = COLD_BANDS.findLast(([, from]) => rounded(felt) <= from);
  return { wind_chill_c: celsius(felt), band, actions };
}

/** Minutes of work in each hour of heat; 0: no such work at all. Between whole degrees the higher one counts. */
export function workMinutes(air, workload) {
  const row = Math.ceil(rounded(air)) - WORK_REST_FIRST_F;
  const minutes = WORK_MINUTES[workload];
  return row < 0 ? 60 : minutes[Math.min(row, minutes.length - 1)];
}

const isKnown = (value) => value !== null && value !== undefined;

/** What follows from the day's readings, as far as they were taken. */
export function dayComputed(reading) {
  const { air_temperature_c: air, relative_humidity_percent: humidity, wind_m_s: wind, workload } = reading;
  const found = {};
  if (!isKnown(air)) return found;
  if (isKnown(humidity)) found.heat = heatRisk({ ...reading, strenuous: workload === "heavy" });
  if (isKnown(wind)) found.cold = coldRisk(reading);
  if (workload) found.work_minutes_per_hour = workMinutes(fahrenheit(air), workload);
  return found;
}
