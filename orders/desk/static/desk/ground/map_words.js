// What the map's page says to a reader: a line for a screen reader, and which of its buttons is pressed.

/** Told aloud; on the screen the map shows it. */
export function say(words) {
  document.getElementById("map-said").textContent = words;
}

/** What a click does, told by the pressed button. */
export function turn(element, mode) {
  element.dataset.mode = mode;
  for (const button of document.querySelectorAll("button[data-mode]")) {
    button.setAttribute("aria-pressed", button.dataset.mode === mode);
  }
}
