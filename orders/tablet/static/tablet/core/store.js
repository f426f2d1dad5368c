// What this tablet keeps, in IndexedDB. A write resolves only when the browser says that it is on the disk ("strict"):
// browsers otherwise answer as soon as the operating system has it, and a dead battery then takes it away.

const NAME = "fencerow-tablet";

// A step for each version; a tablet that was left in a drawer runs those that it lacks. Never change one, add one.
const STEPS = [
  (db) => {
    for (const name of ["outbox", "answers", "package", "work", "photos", "documents", "meta"]) db.createObjectStore(name);
  },
];

let opening = null;

export function open() {
  opening ??= new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, STEPS.length);
    request.onupgradeneeded = (event) => STEPS.slice(event.oldVersion).forEach((step) => step(request.result));
    request.onerror = () => reject(request.error);
    request.onsuccess = () => {
      const db = request.result;
      db.onversionchange = db.onclose = () => {
        db.close();
        opening = null;
      };
      resolve(db);
    };
  }).catch((error) => {
    opening = null;
    throw error;
  });
  return opening;
}

/** The result of one request of a transaction. */
export function asked(request) {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

/** Run `fn(transaction)` over these stores; resolves with its result once all of it is kept. Inside, await nothing but
 * `asked(…)`: a transaction closes by itself as soon as it has nothing to do. */
export async function transact(stores, fn, mode = "readwrite") {
  const db = await open();
  const transaction = db.transaction(stores, mode, { durability: "strict" });
  const kept = new Promise((resolve, reject) => {
    transaction.oncomplete = () => resolve();
    transaction.onabort = () => reject(transaction.error ?? new Error("aborted"));
  });
  kept.catch(() => {}); // whoever awaits it below hears of it
  let result;
  try {
    result = await fn(transaction);
  } catch (error) {
    try {
      transaction.abort();
    } catch {
      // it had ended by itself
    }
    throw error;
  }
  await kept;
  return result;
}

export function get(store, key) {
  return transact([store], (transaction) => asked(transaction.objectStore(store).get(key)), "readonly");
}

export function all(store) {
  return transact([store], (transaction) => asked(transaction.objectStore(store).getAll()), "readonly");
}

export function keys(store) {
  return transact([store], (transaction) => asked(transaction.objectStore(store).getAllKeys()), "readonly");
}

export function put(store, value, key) {
  return transact([store], (transaction) => void transaction.objectStore(store).put(value, key));
}

export function remove(store, key) {
  return transact([store], (transaction) => void transaction.objectStore(store).delete(key));
}
