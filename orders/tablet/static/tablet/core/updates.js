// A new version of the program waits until nothing is open for entry, in no tab; then the page loads once with it.

import { app } from "./app.js";
import { t } from "./i18n.js";
import { onNews } from "./news.js";
import { h } from "./ui.js";
import { ROOT } from "./version.js";

const LOOK_EVERY_MS = 30 * 60 * 1000;
const ENTRY = "fencerow-entry"; // every tab with an open entry holds a share of this lock

let waiting = null;
let isNew = false; // another version has taken over; this page still has to load again
let letGo = null;
let asking = false;

function entryHold() {
  if (app.isEntryOpen === Boolean(letGo)) return;
  if (letGo) {
    letGo();
    letGo = null;
    return;
  }
  const held = new Promise((resolve) => (letGo = resolve));
  navigator.locks.request(ENTRY, { mode: "shared" }, () => held);
}

function show() {
  const place = document.getElementById("update");
  place.hidden = !waiting;
  place.replaceChildren(h("span", {}, t("core.new_version")));
}

function take() {
  entryHold();
  if (isNew && !app.isEntryOpen) location.reload();
  if (!waiting || isNew) return;
  show();
  if (asking) return;
  asking = true;
  navigator.locks.request(ENTRY, () => waiting.postMessage("take over")); // granted once no tab holds a share
}

function found(worker) {
  if (!worker || !navigator.serviceWorker.controller) return; // the first one takes over by itself
  waiting = worker;
  take();
}

function watch(registration) {
  found(registration.waiting);
  registration.addEventListener("updatefound", () => {
    const made = registration.installing;
    made.addEventListener("statechange", () => made.state === "installed" && found(made));
  });
  setInterval(() => registration.update().catch(() => {}), LOOK_EVERY_MS); // with no network there is no news
}

export async function updatesStart() {
  if (!("serviceWorker" in navigator)) return;
  let isFirst = !navigator.serviceWorker.controller; // the first one to take over is of this page's own version
  navigator.serviceWorker.addEventListener("controllerchange", () => {
    isNew ||= !isFirst;
    isFirst = false;
    take();
  });
  onNews("screen-changed", take);
  entryHold();
  watch(await navigator.serviceWorker.register(`${ROOT}sw.js`, { scope: ROOT, updateViaCache: "none" }));
}
