// Spans of time as plain rows: nothing ticks, so nothing is lost when the tablet dies. A span runs while `ended_at` is
// null, and stands still while `paused_at` is set.

const MS_PER_MINUTE = 60000;

export const isOpen = (span) => span.ended_at === null && span.minutes === null;
export const isPaused = (span) => isOpen(span) && Boolean(span.paused_at);

const between = (from, to) => (Date.parse(to) - Date.parse(from)) / MS_PER_MINUTE;

/** Minutes so far, breaks taken out, unrounded. */
export function minutesNow(span, now) {
  if (span.minutes !== null) return span.minutes;
  const end = span.ended_at ?? span.paused_at ?? now;
  return Math.max(0, between(span.started_at, end) - span.pauses_minutes);
}

export function openSpan(spans, person) {
  return spans.find((span) => span.person === person && isOpen(span));
}

export function spanMake({ id, person, crew, order, visit, prescription = null, code = "work", at }) {
  return {
    id,
    person,
    crew,
    order,
    visit,
    prescription,
    code,
    started_at: at,
    ended_at: null,
    minutes: null,
    paused_at: null,
    pauses_minutes: 0,
    origin: "timer",
    queued: false,
    replaces: null,
    why: "",
  };
}

export function paused(span, at) {
  return isOpen(span) && !span.paused_at ? { ...span, paused_at: at } : span;
}

export function resumed(span, at) {
  if (!isPaused(span)) return span;
  return { ...span, paused_at: null, pauses_minutes: span.pauses_minutes + Math.max(0, between(span.paused_at, at)) };
}

/** Ended, in whole minutes; a span that was begun counts at least one. */
export function stopped(span, at) {
  if (!isOpen(span)) return span;
  const over = resumed(span, at);
  const minutes = Math.max(1, Math.round(between(over.started_at, at) - over.pauses_minutes));
  return { ...over, ended_at: at, minutes, queued: true };
}

/** A row typed by hand, which may take the place of another: the list then holds the new one alone. */
export function spanTyped({ id, minutes, why = "", replaced = null, ...rest }) {
  const kept = replaced ?? spanMake({ id, at: null, ...rest });
  const typed = { id, minutes, why, origin: "typed", queued: true, paused_at: null, pauses_minutes: 0 };
  return { ...kept, ...rest, ...typed, started_at: null, ended_at: null, replaces: replaced?.id ?? null };
}

/** The body of the command `time-span`. */
export function spanBody(span, workDate) {
  const { id, crew, person, code, visit, prescription, started_at, ended_at, minutes, origin, replaces, why } = span;
  const body = { id, crew, person, work_date: workDate, code, started_at, ended_at, minutes, origin };
  const more = { visit, prescription, replaces, why };
  return { ...body, ...Object.fromEntries(Object.entries(more).filter(([, value]) => value)) };
}

/** Minutes of each person over the day's spans. */
export function minutesByPerson(spans, now) {
  const sums = new Map();
  for (const span of spans) {
    sums.set(span.person, (sums.get(span.person) ?? 0) + minutesNow(span, now));
  }
  return sums;
}
