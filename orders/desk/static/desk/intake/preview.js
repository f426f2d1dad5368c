// The rows of a file on a map, over what is held there already. A row that is chosen, here or in the list, is told in words.

import { color, openGround, showBox, siteOutlines, whenColorsTurn } from "../map/ground.js";

const L = window.L;
const MOST_MARKS = 400; // of more bad rows the dashes tell alone
const WORDS = {
  new: "would be added",
  known: "is known already",
  bad: "cannot be taken",
  left_out: "stays out with another row of its survey",
};

const styles = {
  new: () => ({ color: color("fern"), weight: 2, fillColor: color("fern"), fillOpacity: 0.3 }),
  known: () => ({ color: color("lapis"), weight: 3, dashArray: "1 6", fillColor: color("lapis"), fillOpacity: 0.12 }),
  bad: () => ({ color: color("berry"), weight: 3, dashArray: "8 5", fillColor: color("berry"), fillOpacity: 0.12 }),
  held: () => ({ color: color("edge"), weight: 1, fill: false }),
};
styles.left_out = styles.bad;

function chosen() {
  return { color: color("ring"), weight: 5, dashArray: null };
}

function said(row) {
  const { number, name, day, outcome, message } = row.properties;
  const where = [name, day].filter(Boolean).join(", ");
  return `Row ${number}${where ? ` (${where})` : ""} ${WORDS[outcome]}. ${message}`.trim();
}

function say(row) {
  const place = document.getElementById("preview-said");
  const link = document.createElement("a");
  link.href = `?row=${row.properties.number}#rows`;
  link.textContent = "Find it in the list";
  place.replaceChildren(`${said(row)} `, link);
}

function middle(layer) {
  return layer.getBounds ? layer.getBounds().getCenter() : layer.getLatLng();
}

function mark(map, layer) {
  const icon = L.divIcon({ className: "bad-mark", html: "×", iconSize: [24, 24] });
  L.marker(middle(layer), { icon, interactive: false, keyboard: false }).addTo(map);
}

function draw(map, told) {
  siteOutlines(map, told.sites);
  const held = L.geoJSON(told.held, {
    interactive: false,
    style: styles.held,
    pointToLayer: (shape, at) => L.circleMarker(at, { radius: 4 }),
  }).addTo(map);
  const layers = new Map();
  const choose = (number) => {
    for (const [, layer] of layers) layer.setStyle(styles[layer.feature.properties.outcome]());
    const layer = layers.get(number);
    if (!layer) return;
    layer.setStyle(chosen());
    layer.bringToFront();
    say(layer.feature);
  };
  const rows = L.geoJSON(told.rows, {
    style: (row) => styles[row.properties.outcome](),
    pointToLayer: (row, at) => L.circleMarker(at, { radius: row.properties.outcome === "new" ? 7 : 9 }),
    onEachFeature: (row, layer) => {
      layers.set(row.properties.number, layer);
      layer.on("click", () => choose(row.properties.number));
    },
  }).addTo(map);
  const bad = [...layers.values()].filter((layer) => ["bad", "left_out"].includes(layer.feature.properties.outcome));
  if (bad.length <= MOST_MARKS) bad.forEach((layer) => mark(map, layer));
  whenColorsTurn(() => {
    held.setStyle(styles.held);
    rows.setStyle((row) => styles[row.properties.outcome]());
  });
  return { layers, choose };
}

function boxOf(layer) {
  if (!layer.getBounds) {
    const { lng, lat } = layer.getLatLng();
    return [lng - 0.001, lat - 0.001, lng + 0.001, lat + 0.001];
  }
  const box = layer.getBounds();
  return [box.getWest(), box.getSouth(), box.getEast(), box.getNorth()];
}

async function drawn(element) {
  const reply = await fetch(element.dataset.shapes, { headers: { Accept: "application/json" } });
  if (!reply.ok) throw new Error(`The server answered ${reply.status}`);
  const told = await reply.json();
  const map = openGround(element, { box: told.box });
  const { layers, choose } = draw(map, told);
  element.dataset.drawn = String(layers.size);
  return (number) => {
    const layer = layers.get(number);
    if (!layer) return;
    showBox(map, boxOf(layer));
    choose(number);
    element.scrollIntoView({ block: "nearest" });
  };
}

/** A row that is asked for before the map is drawn is shown once it is. */
function open(element) {
  element.dataset.opened = "yes";
  const drawing = drawn(element);
  document.addEventListener("click", async (event) => {
    const row = event.target.closest("[data-show-row]");
    if (!row) return;
    const show = await drawing.catch(() => null);
    show?.(Number(row.dataset.showRow));
  });
  return drawing;
}

function look() {
  const element = document.getElementById("preview");
  if (!element || element.dataset.opened) return;
  open(element).catch(() => {
    document.getElementById("preview-said").textContent = "The map cannot be shown now; the list below says the same.";
  });
}

// The result is put in place when the check ends, so the map may come later than the page.
new MutationObserver(look).observe(document.getElementById("run"), { childList: true, subtree: true });
look();
