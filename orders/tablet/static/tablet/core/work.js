// The day as the screens remember it: plain JSON under string keys, changed in one strict transaction each.

import { asked, get, keys, transact } from "./store.js";

export async function read(key, fallback = null) {
  return (await get("work", key)) ?? fallback;
}

/** `fn` gets what is there (or undefined) and gives what shall be; it must not wait for anything. */
export function change(key, fn) {
  return transact(["work"], async (transaction) => {
    const store = transaction.objectStore("work");
    const value = fn(await asked(store.get(key)));
    store.put(value, key);
    return value;
  });
}

export async function keysOf(prefix) {
  return (await keys("work")).filter((key) => key.startsWith(prefix));
}
