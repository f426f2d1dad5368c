// The map on paper: what is seen on the screen is seen whole on the sheet, which is narrower.

/** Gives the map the size that it has on paper before it is printed, and its own again after that. */
export function fitPaper(map) {
  const element = map.getContainer();
  const snap = map.options.zoomSnap;
  let seen = null;
  const turn = (is_paper) => {
    element.classList.toggle("on-paper", is_paper);
    map.invalidateSize({ animate: false, pan: false });
    map.options.zoomSnap = is_paper ? 0 : snap;
    map.fitBounds(seen, { animate: false });
  };
  addEventListener("beforeprint", () => {
    seen ??= map.getBounds();
    turn(true);
  });
  addEventListener("afterprint", () => {
    if (seen) turn(false);
    seen = null;
  });
}
