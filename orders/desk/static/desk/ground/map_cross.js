// The keyboard's pointer: a cross that arrow keys move over the map, which follows when the cross comes to its edge.

const L = window.L;
const STEP_PX = 16;
const FAR = 5;
const EDGE_PX = 48;
const WAYS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

/**
 * `keys` has what the other keys do: Enter, Space, Home, Escape; each is told the cross' point. `moved(point)` is told
 * where the cross is.
 */
export function openCross(map, keys, moved) {
  const element = document.createElement("div");
  element.className = "map-cross";
  element.hidden = true;
  const container = map.getContainer();
  container.append(element);
  let point = map.getSize().divideBy(2).round();

  function put(next) {
    const size = map.getSize();
    point = L.point(Math.min(Math.max(next.x, 0), size.x), Math.min(Math.max(next.y, 0), size.y));
    element.style.left = `${point.x}px`;
    element.style.top = `${point.y}px`;
  }

  function step(x, y) {
    const size = map.getSize();
    const next = point.add([x, y]);
    const over = L.point(beyond(next.x, size.x), beyond(next.y, size.y));
    if (over.x || over.y) map.panBy(over, { animate: false });
    put(next.subtract(over));
    moved(point);
  }

  container.addEventListener("focus", () => {
    element.hidden = !container.matches(":focus-visible");
    put(point);
  });
  container.addEventListener("blur", () => {
    element.hidden = true;
  });
  container.addEventListener("keydown", (event) => {
    if (event.target !== container || event.ctrlKey || event.metaKey || event.altKey) return;
    const way = WAYS[event.key];
    const act = keys[event.key === " " ? "Space" : event.key];
    if (!way && !act) return;
    event.preventDefault();
    element.hidden = false;
    const length = event.shiftKey ? FAR * STEP_PX : STEP_PX;
    if (way) step(way[0] * length, way[1] * length);
    else act(point);
  });
  return () => point;
}

/** How far a coordinate is beyond the map's inner edge. */
function beyond(at, size) {
  if (at < EDGE_PX) return at - EDGE_PX;
  return at > size - EDGE_PX ? at - (size - EDGE_PX) : 0;
}
