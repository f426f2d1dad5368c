// One person's whole paid day, and which order bears how much of its drive and standby.

export const CODES = ["work", "drive", "shop", "training", "rain", "leave", "repair"];
export const SHARED = new Set(["drive", "rain"]);

// As Map.groupBy, which older tablets lack.
export function grouped(rows, keyOf) {
  const found = new Map();
  for (const row of rows) found.set(keyOf(row), [...(found.get(keyOf(row)) ?? []), row]);
  return found;
}

// Largest remainder: whole minutes that sum to what was shared; ties go to the lower order number.
// `weights`: [{order, number, minutes}]; the rule "equal" counts each order once, "minutes" by its work.
export function shared(minutes, weights, rule) {
  const rows = [...weights].sort((a, b) => a.number - b.number);
  const worked = rows.reduce((sum, row) => sum + row.minutes, 0);
  const weightOf = rule === "equal" || worked === 0 ? () => 1 : (row) => row.minutes;
  const total = rows.reduce((sum, row) => sum + weightOf(row), 0);
  const parts = rows.map((row, place) => ({
    order: row.order,
    minutes: Math.floor((minutes * weightOf(row)) / total),
    rest: (minutes * weightOf(row)) % total,
    place,
  }));
  let left = minutes - parts.reduce((sum, part) => sum + part.minutes, 0);
  for (const part of [...parts].sort((a, b) => b.rest - a.rest || a.place - b.place)) {
    if (left <= 0) break;
    part.minutes += 1;
    left -= 1;
  }
  return parts.map(({ order, minutes: given }) => ({ order, minutes: given }));
}

export const total = (lines) => lines.reduce((sum, line) => sum + line.minutes, 0);

// What each order bears of a day: its own work, and its share of the lines that belong to no order.
export function borne(lines, numbers, rule) {
  const work = lines.filter((line) => line.code === "work" && line.order);
  const weights = [...grouped(work, (line) => line.order)].map(([order, rows]) => ({
    order,
    number: numbers.get(order) ?? 0,
    minutes: total(rows),
  }));
  const found = new Map(weights.map((row) => [row.order, { work: row.minutes, drive: 0, rain: 0 }]));
  for (const line of lines.filter((one) => SHARED.has(one.code))) {
    for (const part of weights.length ? shared(line.minutes, weights, rule) : []) {
      found.get(part.order)[line.code] += part.minutes;
    }
  }
  return found;
}

const merged = (rows) => {
  const origins = new Set(rows.map((row) => row.origin));
  return origins.size === 1 ? rows[0].origin : "typed";
};

// Lines of one person from the timers of the day; drive comes from the site where nobody timed it.
export function linesOf(person, spans, { closed = new Map(), driveMinutes = 0 } = {}) {
  const own = spans.filter((span) => span.person === person && span.minutes > 0);
  const keyOf = (span) => `${span.code} ${span.code === "work" ? (span.order ?? "") : ""}`;
  const lines = [...grouped(own, keyOf).values()].map((rows) => ({
    code: rows[0].code,
    order: rows[0].code === "work" ? (rows[0].order ?? null) : null,
    minutes: total(rows),
    origin: merged(rows),
    note: "",
  }));
  for (const [order, rows] of closed) {
    const mine = rows.filter((row) => row.person === person);
    const at = lines.findIndex((line) => line.code === "work" && line.order === order);
    if (!mine.length) continue;
    const line = { code: "work", order, minutes: total(mine), origin: merged(mine), note: "" };
    if (at < 0) lines.push(line);
    else lines[at] = line;
  }
  const isWorking = lines.some((line) => line.code === "work");
  if (isWorking && driveMinutes > 0 && !lines.some((line) => line.code === "drive")) {
    lines.push({ code: "drive", order: null, minutes: driveMinutes, origin: "prefilled", note: "" });
  }
  return lines.sort((a, b) => CODES.indexOf(a.code) - CODES.indexOf(b.code));
}
