// Keeps the list of who is out fresh: asks once a minute, stops while the reader says so or writes into it.

const EVERY_MS = 60_000;
const place = document.getElementById("watch-out");
const button = document.getElementById("watch-pause");
const heard = document.getElementById("watch-heard");
let paused = false;

function busy() {
  return place.contains(document.activeElement) || place.querySelector("details[open]") !== null;
}

async function refresh() {
  if (paused || document.hidden || busy()) return;
  try {
    const reply = await fetch(place.dataset.address, { redirect: "error" });
    if (!reply.ok) throw new Error(`The server answered ${reply.status}`);
    const piece = new DOMParser().parseFromString(await reply.text(), "text/html");
    place.replaceChildren(...piece.body.childNodes);
    heard.textContent = `As of ${new Date().toLocaleTimeString()}.`;
  } catch {
    heard.textContent = "The server does not answer, or you are logged out. What is shown may be old.";
  }
}

button.hidden = false;
button.addEventListener("click", () => {
  paused = !paused;
  button.textContent = paused ? "Go on refreshing" : "Stop refreshing";
  if (!paused) refresh();
});
setInterval(refresh, EVERY_MS);
