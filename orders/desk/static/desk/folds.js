// What a reader has opened stays open when a part of the page is fetched anew, even while it was on its way.

let opened = [];

document.addEventListener("htmx:beforeSwap", () => {
  opened = [...document.querySelectorAll("details[open][id]")].map((fold) => fold.id);
});

document.addEventListener("htmx:afterSwap", () => {
  for (const id of opened) document.getElementById(id)?.setAttribute("open", "");
});
