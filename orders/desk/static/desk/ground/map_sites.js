// Outlines of sites and their names; a name gives way to one that was put before it.

import { siteOutlines } from "../map/ground.js";
import { ask } from "./map_data.js";

const L = window.L;

export async function openSites(map, address) {
  const said = await ask(address);
  if (!said) return;
  siteOutlines(map, said);
  const names = said.features.map((site) => {
    const bounds = L.geoJSON(site).getBounds();
    const at = L.latLng(bounds.getNorth(), bounds.getCenter().lng);
    return L.tooltip({ permanent: true, direction: "top", className: "map-site", interactive: false, pane: "shadowPane" })
      .setLatLng(at)
      .setContent(document.createTextNode(site.properties.name))
      .addTo(map);
  });
  const arrange = () => apart(names);
  map.on("zoomend moveend", arrange);
  arrange();
}

function apart(names) {
  const taken = [];
  for (const name of names) {
    const element = name.getElement();
    element.hidden = false;
    const box = element.getBoundingClientRect();
    element.hidden = taken.some((other) => touches(box, other));
    if (!element.hidden) taken.push(box);
  }
}

function touches(one, other) {
  return one.left < other.right && other.left < one.right && one.top < other.bottom && other.top < one.bottom;
}
