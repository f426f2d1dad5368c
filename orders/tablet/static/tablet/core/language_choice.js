// The language of the screens, for whoever is at the tablet.

import { h } from "./dom.js";
import { button } from "./controls.js";
import { language, LANGUAGES, t } from "./i18n.js";
import { tellHere } from "./news.js";
import { languageKeep } from "./session.js";

const NAMES = { en: "settings.english", es: "settings.spanish" };

export function languageButtons(app) {
  const buttons = LANGUAGES.map((code) => {
    const choose = async () => {
      await languageKeep(code);
      tellHere("language-changed");
      app.again();
    };
    return button(t(NAMES[code]), choose, { "aria-pressed": String(code === language), lang: code });
  });
  return h("div", { class: "row", role: "group", "aria-label": t("settings.language") }, buttons);
}
