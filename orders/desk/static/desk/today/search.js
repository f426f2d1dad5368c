// The search field in the head: "/" goes to it, what is typed lists the best hits under it, arrows move through them.
// Without this the field sends its form, and the page of the search answers.

const WAIT_MS = 200;
const LEAST_CHARACTERS = 2;

const form = document.getElementById("head-search");
const field = form?.elements.namedItem("q");
const list = document.getElementById("head-found");
const heard = document.getElementById("head-found-heard");
let waiting = 0;
let asked = null;

function close() {
  list.hidden = true;
  list.replaceChildren();
}

function links() {
  return [...list.querySelectorAll("a")];
}

async function suggest() {
  const question = field.value.trim();
  asked?.abort();
  if (question.length < LEAST_CHARACTERS) return close();
  asked = new AbortController();
  try {
    const address = `${form.dataset.suggest}?${new URLSearchParams({ q: question })}`;
    const reply = await fetch(address, { redirect: "error", signal: asked.signal });
    if (!reply.ok) return close();
    const piece = new DOMParser().parseFromString(await reply.text(), "text/html");
    list.replaceChildren(...piece.body.childNodes);
    list.hidden = false;
    const count = links().length;
    heard.textContent = count === 1 ? "1 suggestion" : `${count} suggestions`;
  } catch {
    close(); // offline, logged out, or a newer question is on its way
  }
}

function step(forward) {
  const among = [field, ...links()];
  const here = among.indexOf(document.activeElement);
  among[(here + (forward ? 1 : -1) + among.length) % among.length].focus();
}

function pressed(event) {
  if (event.key === "Escape" && !list.hidden) {
    event.preventDefault(); // else the browser empties a field of this kind
    close();
    field.focus();
  } else if (!list.hidden && (event.key === "ArrowDown" || event.key === "ArrowUp")) {
    event.preventDefault();
    step(event.key === "ArrowDown");
  }
}

function typing(element) {
  return element?.matches?.("input, select, textarea, [contenteditable]");
}

function slash(event) {
  if (event.key !== "/" || event.ctrlKey || event.metaKey || event.altKey || typing(document.activeElement)) return;
  event.preventDefault();
  field.focus();
}

if (form) {
  field.addEventListener("input", () => {
    clearTimeout(waiting);
    waiting = setTimeout(suggest, WAIT_MS);
  });
  form.addEventListener("keydown", pressed);
  form.addEventListener("focusout", (event) => {
    if (!form.contains(event.relatedTarget)) close();
  });
  document.addEventListener("keydown", slash);
}
