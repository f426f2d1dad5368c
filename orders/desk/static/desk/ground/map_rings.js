// Rings of a patch: drawn into a path, and asked whether a point lies within them.

/** Adds rings to a path; `place` leads from pixels of the earth at zoom 0 to those of the canvas. */
export function outline(path, rings, place) {
  for (const ring of rings) {
    for (let at = 0; at < ring.length; at += 2) {
      const [x, y] = [ring[at] * place.scale - place.x, ring[at + 1] * place.scale - place.y];
      if (at) path.lineTo(x, y);
      else path.moveTo(x, y);
    }
    path.closePath();
  }
}

/** Is a point within rings, holes taken out: a ray to the east crosses them an odd number of times. */
export function within(rings, point) {
  let is_in = false;
  for (const ring of rings) {
    for (let at = 0, before = ring.length - 2; at < ring.length; before = at, at += 2) {
      const [x, y, lastX, lastY] = [ring[at], ring[at + 1], ring[before], ring[before + 1]];
      if (y > point.y !== lastY > point.y && point.x < ((lastX - x) * (point.y - y)) / (lastY - y) + x) is_in = !is_in;
    }
  }
  return is_in;
}
