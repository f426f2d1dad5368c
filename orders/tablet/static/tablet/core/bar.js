// The bar at the top: who, whether all is sent, whether the office is in reach. It never scrolls away.

import { app } from "./app.js";
import { age, t, tn } from "./i18n.js";
import { onNews } from "./news.js";
import { unsent } from "./outbox.js";
import { lock, session } from "./session.js";
import { sync } from "./sync.js";
import { button, h } from "./ui.js";

const EVERY_MS = 30_000;
const OLD_MS = 24 * 3600 * 1000;

let told = "";

function waitingWords({ commands, photos, oldest }) {
  if (!commands && !photos) return t("core.all_sent");
  const parts = [commands ? tn("core.to_send", commands) : "", photos ? tn("core.photos_to_send", photos) : ""];
  return `${parts.filter(Boolean).join(" + ")} · ${t("core.oldest", { age: age(oldest) })}`;
}

function stateOf({ commands, photos, oldest, held }) {
  if (held || session.stopped) return "state-bad";
  if (!commands && !photos) return "state-good";
  return Date.now() - Date.parse(oldest) > OLD_MS ? "state-bad" : "state-wait";
}

function reachWords() {
  if (session.stopped) return t("core.stopped");
  if (!navigator.onLine || sync.reached === false) return t("core.offline");
  if (sync.busy) return t("core.sending");
  return sync.reached ? t("core.online") : t("core.not_yet");
}

function words(counts) {
  const held = counts.held ? ` · ${tn("core.to_look_at", counts.held)}` : "";
  return `${waitingWords(counts)}${held}`;
}

async function draw() {
  const counts = await unsent();
  const who = document.getElementById("who");
  const name = session.isUnlocked ? button(session.name, () => app.go("/settings"), { "aria-label": t("core.settings_of", { name: session.name }) }) : null;
  const key = session.isUnlocked ? button(t("core.lock"), lock) : null;
  const home = session.isUnlocked && app.path !== "/" ? h("a", { href: "#/", class: "plain-button" }, t("core.home")) : null;
  who.replaceChildren(...[home, name, key].filter(Boolean));
  const link = document.getElementById("waiting");
  link.className = stateOf(counts);
  link.replaceChildren(h("span", { class: "waiting-words" }, words(counts)), h("span", { class: "reach" }, reachWords()));
  tellOnce(words(counts));
}

/** Read out what waits only when it changed in kind: not each time that its age does. */
function tellOnce(text) {
  const kind = text.split(" · ")[0];
  if (kind === told) return;
  told = kind;
  document.getElementById("waiting-said").textContent = kind;
}

export function barStart() {
  for (const name of ["unsent-changed", "sync-changed", "session-changed", "screen-changed", "language-changed"]) onNews(name, draw);
  globalThis.addEventListener("online", draw);
  setInterval(draw, EVERY_MS);
  return draw();
}
