// Marking days off in the table of a month: the first day, then the last of the same row; the form below is filled in.
// Without this the form does the same by itself.

const table = document.querySelector("[data-days]");
const form = document.querySelector("[data-days-form]");

if (table && form) {
  const state = { row: null, first: null };
  const told = form.parentElement.querySelector("[data-told]");
  for (const help of document.querySelectorAll("[data-marks]")) help.hidden = false;

  const rows = [...table.tBodies[0].rows];
  const cellsOf = (row) => [...row.cells].slice(1);
  const place = (cell) => [rows.indexOf(cell.parentElement), cell.cellIndex - 1];
  const cellAt = (row, column) => rows[row] && cellsOf(rows[row])[column];

  const tell = (text) => { told.textContent = text; };

  const unmark = () => {
    for (const cell of table.querySelectorAll("[data-marked]")) {
      delete cell.dataset.marked;
      cell.removeAttribute("aria-selected");
    }
    state.row = state.first = null;
  };

  const paint = (row, from, to) => {
    cellsOf(row).slice(Math.min(from, to), Math.max(from, to) + 1).forEach((cell) => {
      cell.dataset.marked = "";
      cell.setAttribute("aria-selected", "true");
    });
  };

  const fill = (row, from, to) => {
    const days = cellsOf(row).map((cell) => cell.dataset.day);
    form.elements.who.value = row.dataset.who;
    form.elements.first_day.value = days[Math.min(from, to)];
    form.elements.last_day.value = days[Math.max(from, to)];
  };

  const mark = (cell) => {
    const row = cell.parentElement;
    const column = cell.cellIndex - 1;
    if (state.row !== row) {
      unmark();
      Object.assign(state, { row, first: column });
      paint(row, column, column);
      fill(row, column, column);
      tell("First day marked. Mark the last day in the same row, or go on in the form.");
      return;
    }
    const first = state.first;
    unmark();
    paint(row, first, column);
    fill(row, first, column);
    tell("Days marked. Say why.");
    form.elements.why.focus();
  };

  const focusOn = (cell) => {
    if (!cell) return;
    for (const other of table.querySelectorAll("td[tabindex='0']")) other.tabIndex = -1;
    cell.tabIndex = 0;
    cell.focus();
  };

  const steps = { ArrowLeft: [0, -1], ArrowRight: [0, 1], ArrowUp: [-1, 0], ArrowDown: [1, 0] };

  table.setAttribute("role", "grid");
  table.setAttribute("aria-multiselectable", "true");
  rows.forEach((row) => cellsOf(row).forEach((cell) => { cell.tabIndex = -1; }));
  if (rows.length) cellsOf(rows[0])[0].tabIndex = 0;

  table.addEventListener("click", (event) => {
    const cell = event.target.closest("td");
    if (!cell) return;
    focusOn(cell);
    mark(cell);
  });

  table.addEventListener("keydown", (event) => {
    const cell = event.target.closest("td");
    if (!cell) return;
    if (steps[event.key]) {
      const [row, column] = place(cell);
      focusOn(cellAt(row + steps[event.key][0], column + steps[event.key][1]));
    } else if (event.key === "Enter" || event.key === " ") {
      mark(cell);
    } else if (event.key === "Escape") {
      unmark();
      tell("The mark is off.");
    } else {
      return;
    }
    event.preventDefault();
  });
}
