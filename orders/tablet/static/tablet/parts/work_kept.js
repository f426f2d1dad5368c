// What this tablet remembers of a day and of an order, beside the commands.

import { asked, get, transact } from "../core/store.js";
import { change, read } from "../core/work.js";

export const dayKey = (date) => `day/${date}`;
export const orderKey = (id) => `order/${id}`;
export const draftKey = (name) => `draft/${name}`;

const DAY = { check_ins: [], briefings: [] };
const ORDER = { progress: {}, photos: [], signs: [], brought: [], started: false };

export const dayKept = async (date) => ({ ...DAY, ...(await read(dayKey(date))) });
export const orderKept = async (id) => ({ ...ORDER, ...(await read(orderKey(id))) });

/** Change with nothing to be told to the office. */
export const changeOrder = (id, fn) => change(orderKey(id), (value) => fn({ ...ORDER, ...value }));

/** As a write that goes along with a command. */
export const orderWrite = (id, fn) => ["work", orderKey(id), (value) => fn({ ...ORDER, ...value })];
export const dayWrite = (date, fn) => ["work", dayKey(date), (value) => fn({ ...DAY, ...value })];
export const draftDone = (name) => ["work", draftKey(name), null];

/** What somebody began to type: `value` is changed in place and `keep()` writes it down. */
export async function draft(name, fresh) {
  const value = { ...fresh, ...(await read(draftKey(name))) };
  return {
    value,
    keep: (more = {}) => {
      Object.assign(value, more);
      const copy = structuredClone(value);
      return change(draftKey(name), () => copy);
    },
    drop: () => change(draftKey(name), () => null),
  };
}

/** The check-in that holds for a crew: the newest of the day that nobody ended. */
export const checkInOf = (day, crew) => day.check_ins.filter((one) => one.crew === crew && !one.out_at).at(-1) ?? null;

/** The photographs of these ids, with their small pictures. */
export function photosKept(ids) {
  if (!ids.length) return Promise.resolve([]);
  return transact(["photos"], (transaction) => Promise.all(ids.map((id) => asked(transaction.objectStore("photos").get(id)))), "readonly");
}

export const documentKept = (sha256) => get("documents", sha256);
