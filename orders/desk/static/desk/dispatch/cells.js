// The cells of the board as a grid.

const STEPS = { ArrowLeft: [0, -1], ArrowRight: [0, 1], ArrowUp: [-1, 0], ArrowDown: [1, 0] };

/** The cell beside another one in the direction of an arrow key, or null at the edge. */
export function cellBeside(cell, key) {
  const [down, across] = STEPS[key];
  const rows = [...cell.closest("tbody").rows];
  const row = rows[rows.indexOf(cell.parentElement) + down];
  const found = row?.cells[cell.cellIndex + across];
  return found?.matches("td[data-day]") ? found : null;
}

/** Whether a site is closed on the cell's day, as the heading of its column has it. */
export function closedAt(board, cell, site) {
  const closed = board.tHead.rows[0].cells[cell.cellIndex].dataset.closed ?? "";
  return closed.split(" ").includes(site);
}
