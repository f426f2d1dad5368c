// The work package from the office: what changed, what is gone, and the documents that it names, whole.

import { tell } from "./news.js";
import { asked, keys, transact } from "./store.js";
import { Refused, Unreached, carry, ask } from "./wire.js";

const SITES = IDBKeyRange.bound("sites/", "sites0");
const ORDERS = IDBKeyRange.bound("orders/", "orders0");
const KEEP_GONE_MS = 30 * 24 * 3600 * 1000;

async function held() {
  return transact(
    ["package", "documents"],
    async (transaction) => {
      const rows = await asked(transaction.objectStore("package").getAll(ORDERS));
      const documents = await asked(transaction.objectStore("documents").getAllKeys());
      return { known: Object.fromEntries(rows.filter((row) => !row.gone).map((row) => [row.id, row.hash])), documents };
    },
    "readonly",
  );
}

/** An order that left the crew goes, unless something about it was entered here: then it stays, marked. */
async function letGo(store, work, current) {
  for (const key of await asked(store.getAllKeys(ORDERS))) {
    const row = await asked(store.get(key));
    if (current.has(row.id)) continue;
    const entered = await asked(work.get(`order/${row.id}`));
    const since = row.gone ?? new Date().toISOString();
    if (entered && Date.now() - Date.parse(since) < KEEP_GONE_MS) store.put({ ...row, gone: since }, key);
    else store.delete(key);
  }
}

/** True where something changed that screens show. */
async function keep({ orders, sites, gone, server_time: _, ...rest }) {
  return transact(["package", "work", "meta"], async (transaction) => {
    const store = transaction.objectStore("package");
    for (const order of orders) store.put(order, `orders/${order.id}`);
    const before = JSON.stringify([await asked(store.get("rest")), await asked(store.getAll(SITES))]);
    store.delete(SITES);
    for (const site of sites) store.put(site, `sites/${site.id}`);
    store.put(rest, "rest");
    transaction.objectStore("meta").put(new Date().toISOString(), "pulled_at");
    await letGo(store, transaction.objectStore("work"), new Set(rest.order_ids));
    const after = JSON.stringify([rest, await asked(store.getAll(SITES))]);
    return orders.length + gone.length > 0 || before !== after;
  });
}

async function digest(bytes) {
  const made = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
  return [...made].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

async function fetchDocument({ sha256, content_type }) {
  const response = await carry("GET", `/tablet/sync/documents/${sha256}`);
  if (response.status === 404) return;
  if (!response.ok) throw new Refused(response.status, {});
  let bytes;
  try {
    bytes = await response.arrayBuffer();
  } catch (error) {
    throw new Unreached(error.message);
  }
  if ((await digest(bytes)) !== sha256) throw new Unreached("not that document");
  const blob = new Blob([bytes], { type: content_type });
  await transact(["documents"], (transaction) => void transaction.objectStore("documents").put(blob, sha256));
  tell("documents-changed");
}

async function fetchDocuments(products) {
  const wanted = new Map(products.flatMap((product) => product.documents ?? []).map((one) => [one.sha256, one]));
  const here = await keys("documents");
  const extra = here.filter((sha256) => !wanted.has(sha256));
  await transact(["documents"], (transaction) => extra.forEach((sha256) => transaction.objectStore("documents").delete(sha256)));
  for (const [sha256, one] of wanted) if (!here.includes(sha256)) await fetchDocument(one);
}

export async function pull() {
  const told = await ask("/tablet/sync/work", await held());
  if (told.payload_version !== 1 || !Array.isArray(told.order_ids)) throw new Unreached("no work package");
  if (await keep(told)) tell("package-changed");
  await fetchDocuments(told.products ?? []);
}
