// Outlines of the patches that are on the screen and large enough, simplified by the server to what the zoom can show.

import { ask, readOutlines } from "./map_data.js";

const WAIT_MS = 120;
const [LEAST_ZOOM, MOST_ZOOM] = [8, 20];

export class Outlines {
  constructor(map, picture, address) {
    this.map = map;
    this.picture = picture;
    this.address = address;
    this.levels = new Map();
    map.on("moveend", () => {
      clearTimeout(this.waiting);
      this.waiting = setTimeout(() => this.fetch(), WAIT_MS);
    });
  }

  /** For the next even zoom, so that every second step of zooming needs none; what is known finely enough is not asked for. */
  async fetch() {
    clearTimeout(this.waiting);
    const zoom = Math.min(MOST_ZOOM, Math.max(LEAST_ZOOM, 2 * Math.ceil(this.map.getZoom() / 2)));
    if (!this.picture.table || !this.#misses(zoom)) return;
    const bounds = this.map.getBounds().pad(0.2);
    const box = [bounds.getWest(), bounds.getSouth(), bounds.getEast(), bounds.getNorth()].map((edge) => edge.toFixed(4));
    this.asking?.abort();
    this.asking = new AbortController();
    const said = await ask(`${this.address}?box=${box}&zoom=${zoom}`, this.asking.signal);
    if (!said) return;
    for (const [number, rings] of readOutlines(said)) this.#keep(number, rings, zoom);
    this.picture.redraw();
    this.map.getContainer().dataset.outlined = zoom;
  }

  #misses(zoom) {
    const { n } = this.picture.table;
    return this.picture.outlinesWanted().some((row) => (this.levels.get(n[row]) ?? 0) < zoom);
  }

  #keep(number, rings, zoom) {
    if ((this.levels.get(number) ?? 0) >= zoom) return;
    this.levels.set(number, zoom);
    this.picture.outlines.set(number, rings);
  }
}
