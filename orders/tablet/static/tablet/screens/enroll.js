// A code from the office makes this tablet known, or adds a person to it; then the person chooses a PIN.

import { t } from "../core/i18n.js";
import { languageButtons } from "../core/language_choice.js";
import { LEAST_DIGITS, pinFits } from "../core/pin.js";
import { enrolled, pinSet, session } from "../core/session.js";
import { get, put } from "../core/store.js";
import { syncNow } from "../core/sync.js";
import { actions, button, field, h, notice, pageHead, textInput } from "../core/ui.js";
import { VERSION } from "../core/version.js";
import { Busy, Refused, ask } from "../core/wire.js";
import { pinPad } from "./unlock.js";

const SAID = { code_unknown: "enroll.unknown", code_used: "enroll.used", code_expired: "enroll.expired" };

function words(error) {
  if (error instanceof Busy) return t("enroll.busy");
  if (!(error instanceof Refused)) return t("enroll.unreached");
  return SAID[error.code] ? t(SAID[error.code]) : t("enroll.refused", { why: error.message });
}

/** Ask that the browser keep what is here when it runs short of room; the settings show what it answers. Not waited for:
 * some browsers ask the person first. */
async function keepAsked() {
  const kept = (await navigator.storage?.persist?.()) ?? false;
  await put("meta", kept, "persisted");
}

function pinStep(root, app, user) {
  let first = "";
  const trouble = h("div", { role: "alert" });
  const tell = (text) => trouble.replaceChildren(notice(text, "trouble"));
  async function enter(pin) {
    if (!pinFits(pin)) tell(t("enroll.pin_short", { least: LEAST_DIGITS }));
    else if (!first) return again(pin);
    else if (pin === first) return done(pin);
    else tell(t("enroll.pin_differs"));
    first = "";
    return draw();
  }
  function again(pin) {
    first = pin;
    trouble.replaceChildren();
    draw();
  }
  async function done(pin) {
    await pinSet(user.id, pin);
    syncNow({ fresh: true });
    app.go("/");
  }
  function draw() {
    const pad = pinPad({ label: first ? t("enroll.pin_again") : t("enroll.pin"), yes: t("enroll.pin_keep"), onenter: enter });
    root.replaceChildren(pageHead(t("enroll.pin_title", { name: user.name })), h("p", {}, t("enroll.pin_why")), trouble, pad.element);
    pad.input.focus();
  }
  draw();
}

async function sent(code, name) {
  const before = session.device ?? (await get("meta", "device"));
  const body = { code, device: before?.id ?? null, device_name: name || before?.name || t("enroll.name_default"), app_version: VERSION };
  const told = await ask("/tablet/sync/enroll", body);
  await enrolled(told);
  keepAsked();
  return told.user;
}

export function render(root, { code = "" }, app) {
  const asked = { code, name: session.device?.name ?? "" };
  const trouble = h("div", { role: "alert" });
  const codeInput = textInput({ value: code, onchange: (text) => (asked.code = text), autocapitalize: "characters", spellcheck: "false" });
  const nameInput = textInput({ value: asked.name, onchange: (text) => (asked.name = text), maxlength: 80 });
  async function enroll() {
    if (!asked.code.trim()) return void trouble.replaceChildren(notice(t("enroll.code_first"), "trouble"));
    try {
      const user = await sent(asked.code, asked.name.trim());
      history.replaceState(null, "", "#/enroll");
      return pinStep(root, app, user);
    } catch (error) {
      return void trouble.replaceChildren(notice(words(error), "trouble"));
    }
  }
  const known = Boolean(session.device) && !session.stopped;
  const back = Object.keys(session.people).length ? "/unlock" : null;
  root.append(
    pageHead(known ? t("enroll.title_more") : t("enroll.title"), back),
    h("p", {}, t("enroll.how")),
    trouble,
    field({ label: t("enroll.code"), control: codeInput, help: t("enroll.code_help") }),
    known ? "" : field({ label: t("enroll.name"), control: nameInput, help: t("enroll.name_help") }),
    languageButtons(app),
    actions(button(t("enroll.go"), enroll, { main: true })),
  );
}
