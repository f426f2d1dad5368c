// The work package as the office last gave it, in maps.

import { unitsSet } from "./i18n.js";
import { session, sessionFill } from "./session.js";
import { asked, transact } from "./store.js";

const POLICY = { units: "us", least_age: 18, lone_saw_work: false, lone_herbicide_work: false, split_rule: "minutes", tile_url: "", photo_max_px: 2048 };

export const state = {
  orders: new Map(), // by id; one with `gone` was taken away while something about it is still kept here
  sites: new Map(), // by id
  crews: new Map(), // by id
  products: new Map(), // by code
  policy: POLICY,
  rest: {},
};

const by = (rows, key) => new Map((rows ?? []).map((row) => [row[key], row]));

export async function load() {
  const rows = await transact(
    ["package"],
    async (transaction) => {
      const store = transaction.objectStore("package");
      const names = await asked(store.getAllKeys());
      const values = await asked(store.getAll());
      return names.map((name, place) => [name, values[place]]);
    },
    "readonly",
  );
  const part = (prefix) => rows.filter(([name]) => name.startsWith(prefix)).map(([, value]) => value);
  state.rest = rows.find(([name]) => name === "rest")?.[1] ?? {};
  state.orders = by(part("orders/"), "id");
  state.sites = by(part("sites/"), "id");
  state.crews = by(state.rest.crews, "id");
  state.products = by(state.rest.products, "code");
  state.policy = { ...POLICY, ...state.rest.policy };
  unitsSet(state.policy.units);
  sessionFill(state.rest.people ?? []);
}

/** The orders of the crews of whoever unlocked the tablet, the next day's first. */
export function myOrders() {
  const mine = [...state.orders.values()].filter((order) => session.crews.includes(order.crew));
  return mine.sort((one, other) => firstDay(one).localeCompare(firstDay(other)) || one.number - other.number);
}

/** The day on which an order is next worked on. */
export function firstDay(order) {
  const planned = (order.visits ?? []).filter((visit) => visit.state === "planned").map((visit) => visit.day);
  return planned.sort()[0] ?? order.first_day ?? "";
}

export function person(id) {
  for (const crew of state.crews.values()) {
    const member = crew.members.find((one) => one.person === id);
    if (member) return member;
  }
  return (state.rest.people ?? []).find((one) => one.person === id) ?? null;
}

/** Who is on a crew on a day. */
export function crewPeople(crewId, day) {
  const members = state.crews.get(crewId)?.members ?? [];
  return members.filter((one) => (!one.first_day || one.first_day <= day) && (!one.last_day || day <= one.last_day));
}

/** The local date, YYYY-MM-DD, of a time zone; this tablet's own where none is named. */
export function today(timeZone = undefined, now = new Date()) {
  return new Intl.DateTimeFormat("en-CA", { timeZone, year: "numeric", month: "2-digit", day: "2-digit" }).format(now);
}
