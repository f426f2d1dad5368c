// Follows a run: asks for its state every second, shows it, says aloud what changes, and fetches the result at the end.

const EVERY_MS = 1000;
const AFTER_SILENCE_MS = 5000;
const SAID_EVERY_PERCENT = 25;
const SILENCE = "The server does not answer, or you are logged out. Trying again.";

const run = document.getElementById("run");
const heard = document.getElementById("run-heard");
let lastSaid = "";

function show(told) {
  for (const place of run.querySelectorAll("[data-told]")) {
    const text = told[place.dataset.told];
    if (place.textContent !== text) place.textContent = text;
    place.hidden = !text;
  }
  const bar = document.getElementById("run-progress");
  if (told.percent === null) bar?.removeAttribute("value");
  else if (bar) bar.value = told.percent;
  const cancel = document.getElementById("run-cancel");
  if (cancel) cancel.hidden = !told.may_cancel;
}

function say(words) {
  if (words !== lastSaid) heard.textContent = lastSaid = words;
}

function spoken(told) {
  if (told.over || told.percent === null) return told.words;
  return `${told.words}, ${told.percent - (told.percent % SAID_EVERY_PERCENT)} percent`;
}

async function stateNow() {
  const reply = await fetch(run.dataset.stateAddress, { redirect: "error", headers: { Accept: "application/json" } });
  if (!reply.ok) throw new Error(`The server answered ${reply.status}`);
  return reply.json();
}

async function showResult() {
  const reply = await fetch(location.href, { redirect: "error" });
  if (!reply.ok) throw new Error(`The server answered ${reply.status}`);
  const page = new DOMParser().parseFromString(await reply.text(), "text/html");
  document.title = page.title;
  run.replaceChildren(...page.getElementById("run").childNodes);
  window.htmx?.process(run); // what the result asks for by itself
}

async function follow() {
  let wait = EVERY_MS;
  try {
    const told = await stateNow();
    show(told);
    if (told.over) await showResult();
    say(spoken(told));
    if (told.over) return;
  } catch {
    const trouble = run.querySelector("[data-told=trouble]");
    trouble.textContent = SILENCE;
    trouble.hidden = false;
    say(SILENCE);
    wait = AFTER_SILENCE_MS;
  }
  setTimeout(follow, wait);
}

if (run.dataset.over === "no") setTimeout(follow, EVERY_MS);
