// When the tablet talks to the office: one tab at a time, as soon as something waits, and with patience.

import { drain } from "./drain.js";
import { onNews, tell, tellHere } from "./news.js";
import { pull } from "./pull.js";
import { session, stop } from "./session.js";
import { put } from "./store.js";
import { upload } from "./upload.js";
import { Busy, hangUp, Refused, Unreached } from "./wire.js";

const FIRST_MS = 2_000;
const LONGEST_MS = 300_000;
const PULL_EVERY_MS = 300_000;

export const sync = { busy: false, reached: null, again: null, trouble: "" }; // trouble: what the office said, in its words

let misses = 0;
let pulledAt = 0;
let timer = null;
let quietUntil = 0; // the office asked for patience until then
let more = false; // something was queued while a round was under way

function wait(ms) {
  clearTimeout(timer);
  sync.again = Date.now() + ms;
  timer = setTimeout(syncNow, ms);
}

/** Twice as long after each miss, up to five minutes, each tablet at another moment. */
function backoff() {
  misses += 1;
  const most = Math.min(LONGEST_MS, FIRST_MS * 2 ** (misses - 1));
  wait(most / 2 + (Math.random() * most) / 2);
}

async function refused(error) {
  sync.trouble = error.message;
  const stopped = /^device_(revoked|unknown|expired)$/.exec(error.code);
  if (stopped) await stop(stopped[1]);
  else backoff();
}

async function missed(error) {
  if (error instanceof Refused) return refused(error);
  sync.trouble = "";
  if (error instanceof Busy) {
    quietUntil = Date.now() + error.seconds * 1000;
    return wait(error.seconds * 1000 * (1 + Math.random() / 4));
  }
  sync.reached = false;
  backoff();
  if (!(error instanceof Unreached)) console.error(error);
  return undefined;
}

async function round() {
  sync.busy = true;
  more = false;
  tellHere("sync-changed");
  try {
    await drain();
    if (session.stopped) return;
    await upload();
    if (Date.now() - pulledAt > PULL_EVERY_MS) {
      await pull();
      pulledAt = Date.now();
    }
    Object.assign(sync, { reached: true, trouble: "" });
    misses = 0;
    await put("meta", new Date().toISOString(), "reached_at");
    wait(more ? 0 : PULL_EVERY_MS);
  } catch (error) {
    await missed(error);
  } finally {
    sync.busy = false;
    tell("sync-changed");
  }
}

/** Send and fetch now, unless another tab is at it. `fresh`: fetch the package whatever its age. */
export async function syncNow({ fresh = false } = {}) {
  if (!session.device?.token || session.stopped || Date.now() < quietUntil) return;
  if (fresh) pulledAt = 0;
  await navigator.locks.request("fencerow-sync", { ifAvailable: true }, async (lock) => {
    if (lock) await round();
    else wait(FIRST_MS);
  });
}

export function syncStart() {
  globalThis.addEventListener("online", () => {
    misses = 0;
    syncNow({ fresh: true });
  });
  globalThis.addEventListener("offline", () => {
    hangUp();
    tellHere("sync-changed");
  });
  document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && syncNow());
  onNews("queued", () => {
    more = true;
    if (!sync.busy) syncNow();
  });
  syncNow({ fresh: true });
}
