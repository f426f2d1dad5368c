// A shape in the making: parts, each of rings (the outside, then holes), each of corners [longitude, latitude]. `at` is
// the corner that the next step is done to. Every step is kept, so that it can be undone.

const STEPS_KEPT = 200;
const DECIMALS = 1e7; // about 1 cm on the ground, as the server stores it
const EMPTY = { parts: [[[]]], at: { part: 0, ring: 0, corner: -1 } };

export const LEAST = { outline: 3, line: 2 };

const copy = (value) => JSON.parse(JSON.stringify(value));
const rounded = ([east, north]) => [Math.round(east * DECIMALS) / DECIMALS, Math.round(north * DECIMALS) / DECIMALS];

export class Shape extends EventTarget {
  /** `kind` is "outline" or "line"; `points`: one corner alone is a place, too. */
  constructor(kind, points) {
    super();
    Object.assign(this, copy(EMPTY), { kind, points, past: [], future: [], step: null });
  }

  get ring() { return this.parts[this.at.part][this.at.ring]; }
  get chosen() { return this.ring[this.at.corner]; }
  get rings() {
    return this.parts.flatMap((rings, part) => rings.map((corners, ring) => ({ part, ring, corners })));
  }
  get isEmpty() { return this.rings.every(({ corners }) => corners.length === 0); }

  /** Whether a ring says something: an outline takes three corners. */
  isWhole(corners) {
    return corners.length >= LEAST[this.kind] || (this.points && corners.length === 1 && this.rings.length === 1);
  }

  /** The parts that are whole; holes without enough corners, and parts whose outside is not whole, are left out. */
  get whole() {
    return this.parts
      .filter(([outside]) => this.isWhole(outside))
      .map((rings) => rings.filter((corners) => this.isWhole(corners)));
  }

  /** Does a step and keeps what was before; steps of the same name in a row (a drag, keys held down) are one. */
  does(name, change) {
    if (name === null || name !== this.step) {
      this.past = [...this.past.slice(-STEPS_KEPT), this.snapshot()];
      this.future = [];
    }
    this.step = name;
    change();
    this.dispatchEvent(new Event("change"));
  }

  snapshot() { return copy({ parts: this.parts, at: this.at }); }

  add(corner, after = this.at.corner) {
    const index = this.ring[after] ? after + 1 : this.ring.length;
    this.does(null, () => {
      this.ring.splice(index, 0, rounded(corner));
      this.at.corner = index;
    });
  }

  /** A corner halfway to the next one: the way to shape an edge without a mouse. */
  addBetween(index = this.at.corner) {
    const one = this.ring[index], other = this.ring[(index + 1) % this.ring.length];
    if (one && other) this.add([(one[0] + other[0]) / 2, (one[1] + other[1]) / 2], index);
  }

  place(index, corner, name = null) {
    const { part, ring } = this.at;
    this.does(name && `${name} ${part} ${ring} ${index}`, () => {
      this.ring[index] = rounded(corner);
      this.at.corner = index;
    });
  }

  remove(index = this.at.corner) {
    if (!this.ring[index]) return;
    this.does(null, () => {
      this.ring.splice(index, 1);
      this.at.corner = Math.min(index, this.ring.length - 1);
    });
  }

  /** Changes places with the corner before (-1) or after (1). */
  shift(index, by) {
    const other = index + by;
    if (!this.ring[other]) return;
    this.does(null, () => {
      [this.ring[index], this.ring[other]] = [this.ring[other], this.ring[index]];
      this.at.corner = other;
    });
  }

  addPart() {
    this.does(null, () => {
      this.parts.push([[]]);
      this.at = { part: this.parts.length - 1, ring: 0, corner: -1 };
    });
  }

  addHole() {
    this.does(null, () => {
      const rings = this.parts[this.at.part];
      rings.push([]);
      this.at = { part: this.at.part, ring: rings.length - 1, corner: -1 };
    });
  }

  /** Takes out the hole, or the part with its holes, that is being drawn. */
  removeRing() {
    this.does(null, () => {
      if (this.at.ring > 0) this.parts[this.at.part].splice(this.at.ring, 1);
      else this.parts.splice(this.at.part, 1);
      if (this.parts.length === 0) this.parts = [[[]]];
      this.at = { part: Math.min(this.at.part, this.parts.length - 1), ring: 0, corner: -1 };
    });
  }

  load(parts) {
    this.does(null, () => {
      this.parts = parts.length ? parts.map((rings) => rings.map((corners) => corners.map(rounded))) : copy(EMPTY.parts);
      this.at = copy(EMPTY.at);
    });
  }

  clear() { this.load([]); }

  choose(part, ring, corner) {
    this.at = { part, ring, corner };
    this.step = null;
    this.dispatchEvent(new Event("change"));
  }

  /** Forgets the steps so far: what the page came with is where undoing ends. */
  begin() { Object.assign(this, { past: [], future: [], step: null }); }

  undo() { this.turn(this.past, this.future); }
  redo() { this.turn(this.future, this.past); }

  turn(from, to) {
    if (from.length === 0) return;
    to.push(this.snapshot());
    Object.assign(this, from.pop());
    this.step = null;
    this.dispatchEvent(new Event("change"));
  }
}
