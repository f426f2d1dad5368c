// Addresses to screens. `app` is what a screen gets: go, again, and whether something is being entered.

import { t } from "./i18n.js";
import { onNews } from "./news.js";
import { routeOf } from "./routes.js";
import { lockIfIdle, session, touch } from "./session.js";
import { confirmSheet, h, notice, pageHead } from "./ui.js";

const IDLE_CHECK_MS = 15_000;

let shown = null; // {path, options, leave}
let after = "/"; // where to go once unlocked

export const app = {
  get isEntryOpen() {
    return Boolean(shown?.options.entry);
  },
  /** Unlocking and the like show nothing of the orders: news must not take away what is being typed there. */
  get showsWork() {
    return !shown?.options.open;
  },
  get path() {
    return location.hash.slice(1) || "/";
  },
  go(path) {
    if (path === app.path) return app.again();
    location.hash = path;
    return undefined;
  },
  again: () => draw(),
  onwards: () => app.go(after),
};

/** Locked or not yet enrolled, only the open screens stand. */
function allowed(path, options) {
  if (session.isUnlocked || options.open) return path;
  if (path !== "/unlock") after = path;
  return Object.keys(session.people).length ? "/unlock" : "/enroll";
}

async function draw() {
  const { path } = app;
  const route = routeOf(path);
  const instead = route ? allowed(path, route.options) : "/";
  if (instead !== path) return void location.replace(`#${instead}`);
  shown?.leave?.();
  const stays = shown?.path === path;
  const root = h("div", { class: "screen" });
  shown = { path, options: route.options, leave: null };
  const mine = shown;
  document.getElementById("content").replaceChildren(root);
  try {
    const screen = await route.load();
    if (mine !== shown) return undefined;
    mine.leave = (await screen.render(root, route.params, app)) ?? null;
  } catch (error) {
    failed(root, error);
  }
  if (mine !== shown) return mine.leave?.();
  root.dataset.path = path;
  arrived(root, stays);
  return undefined;
}

function failed(root, error) {
  console.error(error);
  root.replaceChildren(pageHead(t("core.broken"), "/"), notice(t("core.broken_more", { error: error.message }), "trouble"));
}

/** A screen that is drawn again stays where it was scrolled to. */
function arrived(root, stays) {
  if (!stays) globalThis.scrollTo(0, 0);
  if (!stays) root.querySelector("h1")?.focus({ preventScroll: true });
  document.dispatchEvent(new CustomEvent("screen-changed"));
}

/** What a screen could not keep (no room, a broken disk) must not look as if it were saved. It stays on the screen. */
async function unsaved(event) {
  if (document.querySelector("dialog.asked[open]")) return;
  const body = t("core.unsaved_more", { error: event.reason?.message || String(event.reason) });
  await confirmSheet({ title: t("core.unsaved"), body, yes: t("core.understood"), no: null, danger: true });
}

export function appStart() {
  globalThis.addEventListener("unhandledrejection", unsaved);
  globalThis.addEventListener("hashchange", draw);
  for (const name of ["pointerdown", "keydown"]) document.addEventListener(name, touch, { passive: true });
  setInterval(lockIfIdle, IDLE_CHECK_MS);
  document.addEventListener("visibilitychange", lockIfIdle);
  onNews("session-changed", () => {
    if (!session.isUnlocked && shown && !shown.options.open) draw();
  });
  return draw();
}
