// Photos in parts, each after its command; a part that was cut off goes on where the office says that it stands.

import { tell } from "./news.js";
import { all, asked, keys, transact } from "./store.js";
import { Refused, Unreached, carry } from "./wire.js";

const PART = 256 * 1024;
const LEAST_PART = 16 * 1024;
const NO_TABLET = [401, 403]; // the office takes nothing from this tablet, whichever photo it is
const KEEP_SENT_MS = 14 * 24 * 3600 * 1000;
const TRIES = 3;

function offsetOf(response) {
  const said = response.headers.get("Upload-Offset");
  if (said === null || !/^\d+$/.test(said)) throw new Unreached("not the office");
  return Number(said);
}

/** Where the office stands with a photo, or null where it does not know it (its command is held). */
async function standing(path) {
  const response = await carry("HEAD", path);
  if (NO_TABLET.includes(response.status)) throw new Refused(response.status, {});
  return response.status === 404 ? null : offsetOf(response);
}

async function part(path, blob, offset, size) {
  const body = blob.slice(offset, offset + size);
  const headers = { "Upload-Offset": String(offset), "Content-Type": "application/offset+octet-stream" };
  const response = await carry("PATCH", path, { headers, body });
  if (response.status === 204 || response.status === 409) return offsetOf(response);
  if (response.status === 413 && size > LEAST_PART) return part(path, blob, offset, Math.ceil(size / 2));
  throw new Refused(response.status, await response.json().catch(() => ({})));
}

/** True once the office has all of it: its checksum broken, it starts again, a few times. */
async function whole(id, blob) {
  const path = `/tablet/sync/photos/${id}`;
  let offset = await standing(path);
  for (let starts = 0; offset !== null && starts < TRIES; ) {
    if (offset >= blob.size) return true;
    const next = await part(path, blob, offset, PART);
    if (next <= offset) starts += 1;
    offset = next;
  }
  return false;
}

function mark(id, change) {
  return transact(["photos"], async (transaction) => {
    const store = transaction.objectStore("photos");
    const row = await asked(store.get(id));
    if (row) store.put({ ...row, ...change }, id);
  });
}

/** Whether the office has all of it now; what it refuses of one photo keeps none of the others back. */
async function tried(id, blob) {
  try {
    return await whole(id, blob);
  } catch (error) {
    if (!(error instanceof Refused) || NO_TABLET.includes(error.status)) throw error;
    return false;
  }
}

export async function upload() {
  const commands = new Set((await all("outbox")).map((row) => row.body.id));
  for (const id of await keys("photos")) {
    const row = await transact(["photos"], (transaction) => asked(transaction.objectStore("photos").get(id)), "readonly");
    if (row?.sent) await tidy(id, row);
    if (!row || row.sent || commands.has(id)) continue;
    if (await tried(id, row.blob)) {
      await mark(id, { sent: true, sent_at: new Date().toISOString() });
      tell("unsent-changed");
    }
  }
}

/** The office has it; after some weeks the tablet needs the room. */
async function tidy(id, row) {
  if (Date.now() - Date.parse(row.sent_at) > KEEP_SENT_MS) await transact(["photos"], (transaction) => void transaction.objectStore("photos").delete(id));
}
