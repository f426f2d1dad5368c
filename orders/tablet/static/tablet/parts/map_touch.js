// Fingers on the map: one moves it, two zoom, a tap that does not move is a tap. Buttons do all of it, too.

const TAP_PX = 10;

/** `on` has moved(dx, dy), zoomed(factor, x, y) and tapped(x, y), in pixels of the element. */
export function touched(element, on) {
  const fingers = new Map();
  let travelled = 0;
  const at = (event) => {
    const box = element.getBoundingClientRect();
    return [event.clientX - box.left, event.clientY - box.top];
  };
  element.addEventListener("pointerdown", (event) => {
    if (!fingers.size) travelled = 0;
    fingers.set(event.pointerId, at(event));
    element.setPointerCapture(event.pointerId);
  });
  element.addEventListener("pointermove", (event) => {
    const before = fingers.get(event.pointerId);
    if (!before) return;
    const now = at(event);
    travelled += Math.hypot(now[0] - before[0], now[1] - before[1]);
    const other = [...fingers].find(([id]) => id !== event.pointerId)?.[1];
    fingers.set(event.pointerId, now);
    if (other) pinch(on, other, before, now);
    else if (travelled > TAP_PX) on.moved(now[0] - before[0], now[1] - before[1]);
  });
  element.addEventListener("pointerup", (event) => {
    const alone = fingers.size === 1;
    fingers.delete(event.pointerId);
    if (alone && travelled <= TAP_PX) on.tapped(...at(event));
  });
  element.addEventListener("pointercancel", (event) => fingers.delete(event.pointerId));
}

function pinch(on, other, before, now) {
  const apart = ([x, y]) => Math.max(1, Math.hypot(x - other[0], y - other[1]));
  on.zoomed(apart(now) / apart(before), (now[0] + other[0]) / 2, (now[1] + other[1]) / 2);
}
