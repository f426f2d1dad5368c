// A close-out as it stands, taken apart into the rows of the form, so that it can be stated anew.
import { SHARED, grouped, total } from "./daysheet.js";

/** {statement, lots} of a closed order: of this tablet, or of the office where that is newer. */
export function standingClose(order, kept) {
  const [own, known] = [kept.close ?? null, order.close_out ?? null];
  if (!own || !known) return own ?? known;
  const at = ({ statement }) => Date.parse(statement.happened_at);
  return at(known) > at(own) ? known : own;
}

const isShare = (row) => SHARED.has(row.step) && row.origin === "allocated";

export function retold({ statement, lots }) {
  const { outcomes, times, materials, condition, weather, follow_up_wanted: followUp, notes } = structuredClone(statement);
  const onSite = times.filter((row) => !isShare(row));
  return {
    hours: [...grouped(onSite, (row) => [row.person, row.visit, row.work_date].join("|")).values()].map(hourRow),
    shares: times.filter(isShare).map(({ work_date: day, ...row }) => ({ ...row, day })),
    outcomes,
    materials: materials.map((row) => ({ ...row, product: lots.find((lot) => lot.id === row.lot)?.product, origin: "typed" })),
    condition,
    weather,
    followUp,
    notes,
  };
}

function hourRow(rows) {
  const [{ visit, person, work_date: day, origin }] = rows;
  const parts = rows.map(({ prescription, step, minutes, origin: from }) => ({ prescription, step, minutes, origin: from }));
  return { visit, day, person, minutes: total(rows), origin, parts, isTouched: true };
}

const dayOf = (row) => `${row.person}|${row.day}`;

/** Who closed it elsewhere knew how long the drive was: their shares stand for the days that they told of. */
export function sharesKept(told, hours, computed) {
  const days = new Set(told.map(dayOf));
  const worked = new Set(hours.filter((row) => row.minutes > 0).map(dayOf));
  return [...told.filter((row) => worked.has(dayOf(row))), ...computed.filter((row) => !days.has(dayOf(row)))];
}
