// The board: a card is picked up by pointer or key, carried over the cells, and let go where it breaks nothing, or with
// a reason. What is sent is the form below the board; without this script the button Move does the same.

import { carry } from "./carry.js";
import { cellBeside, closedAt } from "./cells.js";
import { previews } from "./preview.js";

const board = document.getElementById("board");
const form = document.getElementById("drop");
const heard = document.getElementById("drop-heard");
const why = document.getElementById("drop-why");
const here = document.getElementById("drop-here");
const preview = previews(form?.dataset.preview);
let held = null; // what is picked up
let cell = null; // where it would go
let found = null; // what that breaks; null until it is known

const tell = (name, words) => { form.querySelector(`[data-told=${name}]`).textContent = words; };

function pickUp(source) {
  letGo();
  held = source;
  held.classList.add("is-held");
  board.classList.add("is-moving");
  for (const each of board.querySelectorAll("td[data-day]")) {
    each.classList.toggle("is-shut", each.classList.contains("off") || closedAt(board, each, held.dataset.site));
  }
  form.elements.visit.value = held.dataset.visit ?? "";
  form.elements.work.value = held.dataset.work ?? "";
  tell("what", held.dataset.what);
  tell("place", "Choose a crew's day.");
  form.hidden = false;
  heard.textContent = `${held.dataset.what} is picked up. The arrow keys choose a cell, Enter puts it there, Escape lets it go.`;
}

function letGo() {
  if (!held) return;
  held.classList.remove("is-held");
  board.classList.remove("is-moving");
  cell?.classList.remove("is-here");
  held = cell = found = null;
  form.hidden = true;
  form.elements.reason.value = "";
  show(null);
}

function choose(next) {
  if (!held || !next || next === cell) return;
  cell?.classList.remove("is-here");
  cell = next;
  cell.classList.add("is-here");
  form.elements.crew.value = cell.dataset.crew;
  form.elements.day.value = cell.dataset.day;
  tell("place", `${cell.getAttribute("aria-label")}: asking what it breaks…`);
  show(null);
  preview.ask(new URLSearchParams(new FormData(form)), (told) => show(told));
}

function show(told) {
  found = told;
  const breaks = told?.breaks ?? [];
  const refused = breaks.some((one) => one.is_hard);
  document.getElementById("drop-breaks").replaceChildren(...breaks.map(line));
  why.hidden = refused || breaks.length === 0;
  here.disabled = !told || refused;
  if (!told) return;
  const words = told.trouble ?? (refused ? "this cannot be done" : breaks.length ? "it breaks something" : "it breaks nothing");
  tell("place", `${told.place}: ${words}.`);
  heard.textContent = `${told.place}: ${words}. ${breaks.map((one) => `${one.kind}: ${one.words}`).join(" ")}`;
  if (told.trouble) here.disabled = true;
}

function line(one) {
  const row = document.createElement("li");
  const mark = document.createElement("span");
  mark.className = `state ${one.is_hard ? "state-bad" : "state-wait"}`;
  mark.textContent = one.is_hard ? `${one.kind}, refused` : `${one.kind}, needs a reason`;
  row.append(mark, ` ${one.words}`);
  return row;
}

async function drop() {
  if (!cell) return;
  if (!found) await preview.answered();
  if (!found || here.disabled) return;
  if (why.hidden || form.elements.reason.value.trim()) form.requestSubmit(here);
  else form.elements.reason.focus();
}

function onKey(event) {
  const card = event.target.closest("[data-visit]");
  if (!held && card === event.target && ["m", "M", "Enter"].includes(event.key)) {
    event.preventDefault();
    pickUp(card);
    moveTo(card.closest("td"));
  } else if (held && event.target.matches("td[data-day]")) {
    if (event.key === "Enter") drop();
    else if (!event.key.startsWith("Arrow")) return;
    else moveTo(cellBeside(event.target, event.key));
    event.preventDefault();
  }
}

function moveTo(next) {
  next?.focus();
  choose(next);
}

function onEscape(event) {
  if (event.key !== "Escape" || !held) return;
  const was = held;
  letGo();
  was.focus();
  heard.textContent = "Let go; nothing is moved.";
}

function start() {
  board.addEventListener("keydown", onKey);
  document.addEventListener("keydown", onEscape);
  document.getElementById("drop-leave").addEventListener("click", () => { const was = held; letGo(); was?.focus(); });
  form.addEventListener("submit", (event) => {
    if (!why.hidden && !form.elements.reason.value.trim()) { event.preventDefault(); form.elements.reason.focus(); }
  });
  board.addEventListener("click", (event) => {
    const clicked = event.target.closest("td[data-day]");
    if (held && clicked && !event.target.closest("a")) moveTo(clicked);
  });
  for (const button of document.querySelectorAll("button[data-work]")) {
    button.hidden = false;
    button.addEventListener("click", () => { pickUp(button); moveTo(board.querySelector("td[data-day]")); });
  }
  carry(board, { pickUp, choose, drop, letGo });
  if (location.hash.startsWith("#visit-")) document.getElementById(location.hash.slice(1))?.focus();
}

if (board && form) start();
