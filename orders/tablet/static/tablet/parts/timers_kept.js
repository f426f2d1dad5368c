// The day's spans as this tablet keeps them, under `timers/<date>`; each change that the office must hear of is queued in
// the same transaction.

import { queue } from "../core/outbox.js";
import { state, today } from "../core/state.js";
import { change, keysOf, read } from "../core/work.js";
import { isOpen, openSpan, paused, resumed, spanBody, spanMake, spanTyped, stopped } from "./timers.js";

const PREFIX = "timers/";
const keyOf = (date) => `${PREFIX}${date}`;
const now = () => new Date().toISOString();

export async function spansOf(date) {
  return (await read(keyOf(date), { spans: [] })).spans;
}

/** The days with spans, the newest first. */
export async function timerDays() {
  return (await keysOf(PREFIX)).map((key) => key.slice(PREFIX.length)).sort().reverse();
}

/** Days other than `date` on which a timer still runs. */
export async function forgottenDays(date) {
  const days = (await timerDays()).filter((day) => day !== date);
  const open = await Promise.all(days.map(async (day) => (await spansOf(day)).some(isOpen)));
  return days.filter((_, place) => open[place]);
}

export const workDay = (site) => today(site?.time_zone);

/** The day where the crew works, whatever zone this tablet is set to. */
export const fieldDay = () => workDay([...state.sites.values()][0]);

const kept = (fn) => (value) => ({ ...value, spans: fn(value?.spans ?? []) });
const changeSpans = (date, fn) => change(keyOf(date), kept(fn));
const replacedBy = (span) => (spans) => spans.map((one) => (one.id === span.id ? span : one));

/** Start a timer for each of `starts` ({person, crew, order, visit, prescription}) who has none running. */
export function timersStart(date, starts) {
  const at = now();
  const fresh = starts.map((start) => spanMake({ id: crypto.randomUUID(), at, ...start }));
  return changeSpans(date, (spans) => [...spans, ...fresh.filter((one) => !openSpan(spans, one.person))]);
}

const ofPeople = (people, change_) => (spans) => spans.map((span) => (people.includes(span.person) ? change_(span, now()) : span));

export const timersPause = (date, people) => changeSpans(date, ofPeople(people, paused));
export const timersResume = (date, people) => changeSpans(date, ofPeople(people, resumed));

/** Stop the running timers of these people; each becomes a command. */
export async function timersStop(date, people, at = now()) {
  const running = (await spansOf(date)).filter((span) => isOpen(span) && people.includes(span.person));
  for (const span of running) await tell(stopped(span, at), date, replacedBy);
}

function tell(span, date, put) {
  const writes = [["work", keyOf(date), kept(put(span))]];
  return queue("time-span", spanBody(span, date), { order: span.order, writes });
}

/** Go on with another patch: what ran ends, and a new span begins at the same moment. */
export async function timerSwitch(date, person, prescription) {
  const running = openSpan(await spansOf(date), person);
  if (!running || running.prescription === prescription) return;
  const at = now();
  await timersStop(date, [person], at);
  const next = spanMake({ ...running, id: crypto.randomUUID(), prescription, at });
  await changeSpans(date, (spans) => [...spans, next]);
}

/** Minutes by hand, instead of `replaced` where there is one. Zero minutes strike it. */
export function timerType(date, { minutes, why, replaced = null, ...rest }) {
  const span = spanTyped({ id: crypto.randomUUID(), minutes, why, replaced, ...rest });
  const wasTold = replaced?.queued ?? false;
  const told = wasTold ? span : { ...span, replaces: null };
  const others = (spans) => spans.filter((one) => one.id !== replaced?.id);
  if (!wasTold && minutes === 0) return changeSpans(date, others);
  return tell(told, date, (one) => (spans) => (minutes === 0 ? others(spans) : [...others(spans), one]));
}
