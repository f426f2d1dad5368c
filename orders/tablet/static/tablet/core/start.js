// Where everything begins: read what is kept, show it, and only then look for the office.

import { app, appStart } from "./app.js";
import { barStart } from "./bar.js";
import { languageSet } from "./i18n.js";
import { onNews, tellHere } from "./news.js";
import { sessionLoad } from "./session.js";
import { load } from "./state.js";
import { get } from "./store.js";
import { syncStart } from "./sync.js";
import { updatesStart } from "./updates.js";

async function start() {
  languageSet((await get("meta", "language")) ?? navigator.language.slice(0, 2));
  await sessionLoad();
  await load();
  onNews("package-changed", async () => {
    await load();
    tellHere("state-changed");
    if (app.showsWork && !app.isEntryOpen) app.again();
  });
  await appStart();
  await barStart();
  document.documentElement.dataset.ready = "yes";
  syncStart();
  await updatesStart().catch(console.error); // nothing that somebody entered
}

start();
