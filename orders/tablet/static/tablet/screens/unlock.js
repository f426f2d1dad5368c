// Who is it, and their PIN on keys as large as a glove needs.

import { t, tn } from "../core/i18n.js";
import { session, unlock } from "../core/session.js";
import { button, choices, h, link, notice, pageHead } from "../core/ui.js";

const LONGEST = 12;

/** Keys for a PIN; a keyboard works, too. */
export function pinPad({ label, onenter, yes }) {
  const input = h("input", { type: "password", id: "pin", inputmode: "none", autocomplete: "off", maxlength: LONGEST });
  const press = (digit) => () => {
    if (input.value.length < LONGEST) input.value += digit;
  };
  const enter = button(yes, () => onenter(input.value), { main: true });
  input.addEventListener("keydown", (event) => event.key === "Enter" && enter.click());
  const keys = [..."123456789"].map((digit) => button(digit, press(digit)));
  const clear = button(t("unlock.clear"), () => (input.value = ""));
  const pad = h("div", { class: "pad" }, keys, clear, button("0", press("0")), enter);
  return { element: h("div", { class: "pin" }, h("label", { for: "pin" }, label), input, pad), input };
}

function who(people, chosen, onchange) {
  if (people.length === 1) return h("p", { class: "who" }, people[0][1].name);
  const options = people.map(([user, one]) => ({ value: user, label: one.name }));
  return choices({ legend: t("unlock.who"), options, value: chosen, onchange });
}

function stoppedNotice() {
  return session.stopped ? notice(t(`stopped.${session.stopped}`), "trouble") : null;
}

export function render(root, params, app) {
  const people = Object.entries(session.people).filter(([, one]) => one.pin);
  if (!people.length) return void app.go("/enroll");
  let user = people.length === 1 ? people[0][0] : null;
  const trouble = h("div", { role: "alert" });
  const tell = (text) => trouble.replaceChildren(notice(text, "trouble"));
  const pad = pinPad({ label: t("unlock.pin"), yes: t("unlock.open"), onenter: open });
  async function open(pin) {
    if (!user) return tell(t("unlock.who_first"));
    const answer = await unlock(user, pin);
    if (answer === "in") return app.onwards();
    pad.input.value = "";
    tell(answer === "wrong" ? t("unlock.wrong") : t("unlock.wait", { time: tn("core.seconds", answer) }));
    return pad.input.focus();
  }
  const more = h("div", { class: "row" }, link(t("unlock.other"), "/enroll"), link(t("unsent.title"), "/unsent"));
  root.append(pageHead(t("unlock.title")), ...[stoppedNotice()].filter(Boolean), who(people, user, (value) => (user = value)), trouble, pad.element, more);
  return undefined;
}
