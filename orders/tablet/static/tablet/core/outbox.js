// What happened outside, in order, until the office has it. A row leaves only when an answer to it is kept (sync.js).

import { t } from "./i18n.js";
import { tell, tellHere } from "./news.js";
import { session } from "./session.js";
import { all, asked, transact } from "./store.js";
import { say } from "./ui.js";
import { VERSION } from "./version.js";

/** Keep one command, and with it what the screens remember of it, in one transaction; resolves when both are on the
 * disk. `writes` are [store, key, value]; a value that is a function gets what is there and gives what shall be. */
export async function queue(kind, body, { order = null, happenedAt = new Date().toISOString(), writes = [] } = {}) {
  if (!session.user) throw new Error("locked");
  const envelope = {
    id: crypto.randomUUID(),
    user: session.user,
    kind,
    order,
    happened_at: happenedAt,
    app_version: VERSION,
    schema: 1,
    body,
  };
  const stores = [...new Set(["outbox", "meta", ...writes.map(([store]) => store)])];
  await transact(stores, async (transaction) => {
    const meta = transaction.objectStore("meta");
    const seq = ((await asked(meta.get("seq"))) ?? 0) + 1;
    meta.put(seq, "seq");
    envelope.seq = seq;
    transaction.objectStore("outbox").put({ ...envelope, queued_at: new Date().toISOString() }, seq);
    for (const [store, key, value] of writes) await write(transaction.objectStore(store), key, value);
  });
  say(t("core.saved"));
  tell("unsent-changed");
  tellHere("queued");
  return envelope;
}

async function write(store, key, value) {
  const kept = typeof value === "function" ? value(await asked(store.get(key))) : value;
  store.put(kept, key);
}

/** What waits: numbers of commands and photos, since when, and how many answers a person must look at. */
export async function unsent() {
  const [rows, photos, answers] = await Promise.all([all("outbox"), all("photos"), all("answers")]);
  const waiting = photos.filter((photo) => !photo.sent);
  const since = [...rows.map((row) => row.queued_at), ...waiting.map((photo) => photo.meta?.taken_at)].filter(Boolean);
  return {
    commands: rows.length,
    photos: waiting.length,
    oldest: since.length ? since.reduce((one, other) => (one < other ? one : other)) : null,
    held: answers.filter(({ answer }) => answer.state !== "waiting").length,
  };
}
