// Carrying a card by pointer: a mouse or pen carries it as soon as it moves, a finger after it was held for a moment, so
// that the page still scrolls.

const MOVED_PX = 6;
const HOLD_MS = 350;
const EDGE_PX = 56; // so near the edge of the window it scrolls
const STEP_PX = 14;

function swallow(click) {
  click.preventDefault();
  click.stopPropagation();
}

export function carry(board, { pickUp, choose, drop, letGo }) {
  let card = null; // pressed, not yet carried
  let ghost = null; // what follows the pointer
  let from = null;
  let timer = 0;

  function begin() {
    pickUp(card);
    document.body.classList.add("carries");
    ghost = card.cloneNode(true);
    for (const name of ["id", "tabindex", "role"]) ghost.removeAttribute(name);
    ghost.setAttribute("aria-hidden", "true");
    ghost.classList.add("is-dragged");
    document.body.append(ghost);
    follow(from);
  }

  function follow(at) {
    ghost.style.transform = `translate(${at.clientX + 8}px, ${at.clientY + 8}px)`;
    ghost.style.left = ghost.style.top = "0";
    if (at.clientY < EDGE_PX) window.scrollBy(0, -STEP_PX);
    else if (at.clientY > window.innerHeight - EDGE_PX) window.scrollBy(0, STEP_PX);
    choose(document.elementFromPoint(at.clientX, at.clientY)?.closest("td[data-day]"));
  }

  function end() {
    clearTimeout(timer);
    ghost?.remove();
    document.body.classList.remove("carries");
    card = ghost = from = null;
  }

  board.addEventListener("pointerdown", (event) => {
    const pressed = event.target.closest("[data-visit]");
    if (!pressed || event.button !== 0 || event.target.closest(".button")) return;
    card = pressed;
    from = event;
    if (event.pointerType === "touch") timer = setTimeout(() => card && begin(), HOLD_MS);
  });

  document.addEventListener("pointermove", (event) => {
    if (ghost) return follow(event);
    if (!card) return undefined;
    if (Math.hypot(event.clientX - from.clientX, event.clientY - from.clientY) < MOVED_PX) return undefined;
    if (event.pointerType === "touch") return end(); // it scrolls
    from = event;
    return begin();
  });

  document.addEventListener("pointerup", (event) => {
    const carried = ghost !== null;
    const over = carried ? document.elementFromPoint(event.clientX, event.clientY)?.closest("td[data-day]") : null;
    end();
    if (!carried) return;
    document.addEventListener("click", swallow, { capture: true }); // the click that ends the drag opens nothing
    setTimeout(() => document.removeEventListener("click", swallow, { capture: true }));
    if (over) drop();
    else letGo();
  });

  document.addEventListener("pointercancel", () => { if (ghost) letGo(); end(); });
  board.addEventListener("dragstart", (event) => event.preventDefault());
  board.addEventListener("contextmenu", (event) => { if (ghost) event.preventDefault(); });
  board.addEventListener("touchmove", (event) => { if (ghost) event.preventDefault(); }, { passive: false });
}
