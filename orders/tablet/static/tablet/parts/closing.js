// The close-out from what was timed, mixed and applied; where nothing was, from the estimate, and marked so.
import { borne, grouped, total } from "./daysheet.js";
import { rounded, standing, taken } from "./mixes.js";

const STEP_MINUTES = 5;
const LARGE_SHARE = 0.5;
const LARGE_MINUTES = 240;

const hoursOf = (visit, order) => Number(
  visit.hours?.likely ?? visit.hours ?? order.hours.likely / order.visits.length,
);
export const visitOf = (order, span) => span.visit ?? order.visits.find(
  (one) => one.day === span.work_date,
)?.id ?? order.visits[0]?.id;
export const openVisits = (order) => order.visits.filter((visit) => visit.state !== "not_done");

// One row a person, visit and day: {visit, day, person, minutes, origin, parts}; `parts` as they were timed, by
// prescription. A visit that is neither timed nor due yet has none.
export function hourRows(order, { spans, peopleOf, driveOf, dayOf }) {
  const own = spans.filter((span) => span.minutes > 0 && span.code === "work" && span.order === order.id);
  return openVisits(order).flatMap((visit) => {
    const here = own.filter((span) => visitOf(order, span) === visit.id);
    if (here.length) return timedRows(visit, here, peopleOf);
    const day = dayOf(visit);
    return day ? guessedRows(order, visit, day, peopleOf(day), driveOf()) : [];
  });
}

function timedRows(visit, spans, peopleOf) {
  return [...grouped(spans, (span) => span.work_date)].flatMap(([day, same]) => {
    const everyone = new Set([...peopleOf(day), ...same.map((span) => span.person)]);
    return [...everyone].map((person) => {
      const parts = partsOf(same.filter((span) => span.person === person));
      return { visit: visit.id, day, person, minutes: total(parts), origin: parts[0]?.origin ?? "typed", parts };
    });
  });
}

function guessedRows(order, visit, day, people, drive) {
  const likely = (hoursOf(visit, order) * 60) / Math.max(1, people.length) - drive;
  const minutes = Math.max(STEP_MINUTES, Math.round(likely / STEP_MINUTES) * STEP_MINUTES);
  return people.map((person) => ({ visit: visit.id, day, person, minutes, origin: "prefilled", parts: [] }));
}

function partsOf(spans) {
  const keyOf = (span) => [span.prescription ?? "", span.step ?? "", span.origin].join("|");
  return [...grouped(spans, keyOf).values()].map((rows) => ({
    prescription: rows[0].prescription ?? null,
    step: rows[0].step ?? "",
    minutes: total(rows),
    origin: rows[0].origin === "timer" ? "timer" : "typed",
  }));
}

// Typed over: how it was made up of patches is no longer known.
export const typed = (one, minutes) => ({ ...one, minutes, origin: "typed", parts: [] });

// The order's share of drive and standby: `linesOf(person, day)` gives the person's whole day.
export function shareRows(order, hours, linesOf, numbers, rule) {
  const rows = [];
  const days = grouped(hours.filter((one) => one.minutes > 0), (one) => `${one.person}|${one.day}`);
  for (const same of days.values()) {
    const [{ person, day, visit }] = same;
    const others = linesOf(person, day).filter((line) => !(line.code === "work" && line.order === order.id));
    const own = { code: "work", order: order.id, minutes: total(same) };
    const share = borne([...others, own], numbers, rule).get(order.id);
    for (const step of ["drive", "rain"]) {
      if (share[step] > 0) rows.push({ visit, person, day, minutes: share[step], step, origin: "allocated" });
    }
  }
  return rows;
}

// As packaged, by lot and patch, out of the batches that were applied for the order.
export function materialRows(order, batches) {
  const used = batches.flatMap((batch) =>
    standing(batch.applications ?? [])
      .filter((application) => application.order === order.id)
      .flatMap(
        (application) => taken(batch, application.volume_ul).map(
          (part) => ({ ...part, ...whereOf(order, application) }),
        ),
      ),
  );
  const keyOf = (part) => [part.visit, part.work_date, part.prescription, part.product, part.lot, part.lot_text, part.unit].join("|");
  return [...grouped(used, keyOf).values()].map((rows) => ({
    ...rows[0],
    value: rounded(rows.reduce((sum, one) => sum + one.value, 0), 4),
    origin: "batch",
  }));
}

const whereOf = (order, application) => ({
  visit: application.visit ?? visitOf(order, application),
  work_date: application.work_date,
  prescription: application.prescription ?? null,
});

export function difference(minutes, order) {
  const likely = order.hours.likely * 60;
  const more = Math.round(minutes - likely);
  return { likely, more, isLarge: Math.abs(more) > LARGE_MINUTES || Math.abs(more) > likely * LARGE_SHARE };
}

function timeRows(one, split) {
  const parts = one.parts.length ? one.parts : [{
    prescription: null,
    step: "",
    minutes: one.minutes,
    origin: one.origin,
  }];
  const rows = parts.flatMap((part) => (split && !part.step ? divided(part, split) : [part]));
  return rows.filter((part) => part.minutes > 0).map((part) => ({ visit: one.visit, person: one.person, work_date: one.day, ...part }));
}

// One slider: how much of the time one step took. The rest stays without a step, since nobody measured it.
function divided(part, { step, percent }) {
  const own = Math.round((part.minutes * percent) / 100);
  return [{ ...part, step, minutes: own }, { ...part, minutes: part.minutes - own }];
}

const identified = (rows) => rows.map((one) => ({ id: crypto.randomUUID(), ...one }));
const given = (values) => Object.fromEntries(
  Object.entries(values).filter(([, value]) => value !== null && value !== ""),
);

// What the command carries.
export function statement(draft, { id, workDate, happenedAt }) {
  const times = draft.hours.flatMap((one) => timeRows(one, draft.split));
  const shares = draft.shares.map(
    ({ visit, person, day, minutes, step, origin }) => ({ visit, person, work_date: day, prescription: null, step, minutes, origin }),
  );
  const known = draft.materials.filter((one) => one.lot && Number(one.value) > 0);
  return {
    id,
    work_date: workDate,
    happened_at: happenedAt,
    confirmed_by: draft.confirmedBy.trim(),
    outcomes: draft.outcomes.map((one) => given({ ...one })),
    times: identified([...times, ...shares]),
    materials: identified(
      known.map(
        ({ visit, work_date, lot, value, unit, prescription }) => ({
          visit,
          work_date,
          lot,
          value: String(value),
          unit,
          prescription: prescription ?? null,
        }),
      ),
    ),
    condition: draft.condition,
    weather: given(draft.weather),
    follow_up_wanted: draft.followUp,
    notes: draft.notes,
  };
}
