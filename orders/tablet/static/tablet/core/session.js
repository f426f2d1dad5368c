// Who is at the tablet. Several people may share it; each unlocks it with an own PIN, and what they do carries their id.

import { languageSet } from "./i18n.js";
import { tell, tellHere } from "./news.js";
import { pinMade, pinMatches, pinMissed } from "./pin.js";
import { asked, get, transact } from "./store.js";

const HERE = "fencerow-unlocked"; // in sessionStorage: outlives a reload of this tab, not the tab
export const IDLE_CHOICES = [5, 15, 30, 60];
const IDLE_MINUTES = 15;

export const session = {
  user: null,
  person: null,
  name: "",
  crews: [],
  language: "",
  people: {}, // user id → {name, language, pin}
  device: null,
  stopped: "", // "revoked", "unknown" or "expired": the office no longer takes this tablet's word
  idleMinutes: IDLE_MINUTES,
  get isUnlocked() {
    return this.user !== null;
  },
};

let peopleTold = [];
let touched = Date.now();

/** Read what is kept of the device and its people, and go on where this tab was. */
export async function sessionLoad() {
  const [device, people, stopped, idle] = await Promise.all(["device", "people", "stopped", "idle"].map((key) => get("meta", key)));
  Object.assign(session, { device: device ?? null, people: people ?? {}, stopped: stopped ?? "", idleMinutes: idle ?? IDLE_MINUTES });
  const here = JSON.parse(sessionStorage.getItem(HERE) ?? "null");
  if (!session.user && here && session.people[here.user]?.pin && Date.now() - here.at < session.idleMinutes * 60_000) enter(here.user);
  fill();
}

/** What the work package says of the tablet's people. */
export function sessionFill(people) {
  peopleTold = people;
  fill();
}

function fill() {
  const told = peopleTold.find((one) => one.user === session.user);
  const kept = session.people[session.user];
  session.person = told?.person ?? null;
  session.name = told?.name ?? kept?.name ?? "";
  session.crews = told?.crews ?? [];
  session.language = kept?.language || told?.language || "";
  if (session.language) languageSet(session.language);
}

function changePeople(fn) {
  return transact(["meta"], async (transaction) => {
    const meta = transaction.objectStore("meta");
    session.people = fn((await asked(meta.get("people"))) ?? {});
    meta.put(session.people, "people");
  });
}

function changePerson(user, change) {
  return changePeople((people) => ({ ...people, [user]: { ...people[user], ...change } }));
}

/** Keep what the office answered to a code; the PIN that a person has stays. */
export async function enrolled({ token, device, user }) {
  await transact(["meta"], async (transaction) => {
    const meta = transaction.objectStore("meta");
    const kept = (await asked(meta.get("device"))) ?? {};
    session.device = { ...kept, ...device, token: token ?? kept.token };
    meta.put(session.device, "device");
    meta.delete("stopped");
    session.stopped = "";
  });
  await changePerson(user.id, { name: user.name, language: session.people[user.id]?.language || user.language });
}

export async function pinSet(user, pin) {
  await changePerson(user, { pin: await pinMade(pin) });
  enter(user);
}

/** "in", "wrong", or the seconds that are left to wait. */
export async function unlock(user, pin) {
  const kept = session.people[user].pin;
  const left = Math.ceil((kept.until - Date.now()) / 1000);
  if (left > 0) return left;
  if (await pinMatches(kept, pin)) {
    await changePerson(user, { pin: { ...kept, tries: 0, until: 0 } });
    enter(user);
    return "in";
  }
  const missed = pinMissed(session.people[user].pin, Date.now()); // another try may have ended meanwhile
  await changePerson(user, { pin: missed });
  return missed.until > Date.now() ? Math.ceil((missed.until - Date.now()) / 1000) : "wrong";
}

function enter(user) {
  session.user = user;
  touch();
  fill();
  tellHere("session-changed");
}

/** What was typed is kept by the screens as drafts: locking loses nothing. */
export function lock() {
  session.user = null;
  sessionStorage.removeItem(HERE);
  fill();
  tellHere("session-changed");
}

export async function languageKeep(code) {
  languageSet(code);
  await transact(["meta"], (transaction) => void transaction.objectStore("meta").put(code, "language"));
  if (session.user) await changePerson(session.user, { language: code });
  fill();
}

export async function idleKeep(count) {
  session.idleMinutes = count;
  await transact(["meta"], (transaction) => void transaction.objectStore("meta").put(count, "idle"));
}

/** Somebody touched the screen. */
export function touch() {
  touched = Date.now();
  if (session.user) sessionStorage.setItem(HERE, JSON.stringify({ user: session.user, at: touched }));
}

export function lockIfIdle() {
  if (session.user && Date.now() - touched > session.idleMinutes * 60_000) lock();
}

/** The office refuses this tablet: the orders' data goes, and what was not sent stays, for a file (unsent.js). */
export async function stop(why) {
  session.stopped = why;
  await transact(["meta", "package", "documents"], (transaction) => {
    transaction.objectStore("meta").put(why, "stopped");
    if (why !== "revoked") return;
    transaction.objectStore("package").clear();
    transaction.objectStore("documents").clear();
  });
  tellHere("session-changed");
  tell("package-changed");
}
