// A map of the desk: Leaflet on our own outlines, so that it works with no network; tiles lie under it where the program
// names a server. Whoever opens one adds layers to what `openGround` gives back; colors come from tokens.css.

const L = window.L;
const DEEPEST = 22;
const PADDING = [64, 28]; // room for the names of sites at the edge

/** The value of a color of tokens.css, as it is now (light or dark). */
export function color(name) {
  return getComputedStyle(document.documentElement).getPropertyValue(`--${name}`).trim();
}

/** Calls back when the reader's system turns from light to dark or back: pictures on canvas do not follow by themselves. */
export function whenColorsTurn(redraw) {
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", redraw);
}

/** What the page says to its scripts: the JSON of `{{ value|json_script:id }}`. */
export function told(id) {
  return JSON.parse(document.getElementById(id).textContent);
}

function extent([west, south, east, north]) {
  return L.latLngBounds([south, west], [north, east]);
}

/**
 * A map in an element of class "ground". `box` is [west, south, east, north] in degrees; data-tiles of the element names a
 * tile server, data-units is "us" or "metric". The element is told as one picture; lists beside it say the same in words.
 */
export function openGround(element, { box }) {
  const map = L.map(element, {
    preferCanvas: true,
    renderer: L.canvas({ padding: 0.3, tolerance: 6 }),
    maxZoom: DEEPEST,
    zoomSnap: 0.5,
    boxZoom: false,
    attributionControl: false,
    zoomAnimation: !matchMedia("(prefers-reduced-motion: reduce)").matches,
  });
  if (element.dataset.tiles) L.tileLayer(element.dataset.tiles, { maxZoom: DEEPEST, maxNativeZoom: 19 }).addTo(map);
  const us = element.dataset.units !== "metric";
  L.control.scale({ imperial: us, metric: !us, maxWidth: 140 }).addTo(map);
  if (box) map.fitBounds(extent(box), { padding: PADDING });
  else map.setView([0, 0], 2);
  return map;
}

/** Moves the map so that a box is seen whole. */
export function showBox(map, box) {
  map.fitBounds(extent(box), { padding: PADDING, maxZoom: 19 });
}

/** Outlines of sites, drawn as lines that nothing can be done to; `features` is GeoJSON. */
export function siteOutlines(map, features) {
  const style = () => ({ color: color("edge"), weight: 2, dashArray: "6 4", fill: false, interactive: false });
  const layer = L.geoJSON(features, { style, interactive: false }).addTo(map);
  whenColorsTurn(() => layer.setStyle(style()));
  return layer;
}
