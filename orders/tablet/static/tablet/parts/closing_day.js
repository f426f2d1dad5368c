// What this tablet knows of a day: timers, who is there, what was mixed and where it went.
import { state, crewPeople } from "../core/state.js";
import { read } from "../core/work.js";
import { linesOf } from "./daysheet.js";

export const numbers = () => new Map([...state.orders.values()].map((order) => [order.id, order.number]));
export const siteOf = (order) => state.sites.get(order.site);
export const productOf = (code) => state.products.get(code) ?? { code, name: code };
export const nameOf = (members, person) => members.find((one) => one.person === person)?.name ?? "";

export async function spansOf(days) {
  const found = await Promise.all(days.map((day) => read(`timers/${day}`, { spans: [] })));
  return found.flatMap((timers, place) => timers.spans.map((span) => ({ ...span, work_date: days[place] })));
}

/** Who was there: those who were checked in, else the whole crew. */
export async function present(crew, day) {
  const members = crewPeople(crew, day);
  const kept = await read(`day/${day}`, {});
  const own = (kept.check_ins ?? []).filter((one) => one.crew === crew);
  const here = new Set(own.flatMap((one) => one.people));
  const checked = members.filter((member) => here.has(member.person));
  return checked.length ? checked : members;
}

/** Batches of this tablet, and those that the office knows to be open, by id. */
export async function batches() {
  const own = await read("batches", {});
  const known = Object.fromEntries((state.rest.open_batches ?? []).map((batch) => [batch.id, batch]));
  return { ...known, ...own };
}

/** Change one batch; one of another tablet becomes known here with it. For the `writes` of a command. */
export const batchWrite = (batch, fn) => [
  "work",
  "batches",
  (all) => ({ ...all, [batch.id]: fn(all?.[batch.id] ?? batch) }),
];

/** Out and back to the farthest site of the day's work; an estimate that anybody may type over. */
export function driveMinutes(spans, orders) {
  const worked = new Set(spans.filter((span) => span.code === "work").map((span) => span.order));
  const sites = [...state.orders.values()].filter((order) => worked.has(order.id) || orders.includes(order.id));
  return 2 * Math.max(0, ...sites.map((order) => siteOf(order)?.drive_minutes ?? 0));
}

/** Hours as they were closed on this tablet, by order: rows of {person, minutes, origin} of one day. */
export async function closedOn(day) {
  const found = new Map();
  for (const order of state.orders.values()) {
    const kept = await read(`order/${order.id}`, {});
    const rows = (kept.close?.hours ?? []).filter((row) => row.day === day && row.minutes > 0);
    if (rows.length) found.set(order.id, rows);
  }
  return found;
}

const holds = (lines, order) => lines.some((line) => line.order === order);

/** What each person's day is made of: the sheet where it was confirmed, with orders that were worked on since; else
    timers, closed orders and the drive. */
export async function dayLines(day, orders = []) {
  const [spans, closed, sheets] = await Promise.all([spansOf([day]), closedOn(day), read(`sheets/${day}`, {})]);
  const drive = driveMinutes(spans, [...closed.keys(), ...orders]);
  return (person) => {
    const confirmed = sheets.confirmed?.[person]?.lines;
    const lines = linesOf(person, spans, { closed, driveMinutes: drive });
    if (confirmed) return [...confirmed, ...lines.filter((line) => line.code === "work" && !holds(confirmed, line.order))];
    const isGoing = orders.length > 0 && !lines.some((line) => line.code === "drive");
    return isGoing && drive ? [
      ...lines,
      { code: "drive", order: null, minutes: drive, origin: "prefilled", note: "" },
    ] : lines;
  };
}
