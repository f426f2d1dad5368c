// A button that takes a photograph. The place goes along only where it is asked for, each time anew.

import { clock, t } from "../core/i18n.js";
import { state } from "../core/state.js";
import { h, newId, say, toggle } from "../core/ui.js";
import { placeNow } from "./map_place.js";
import { photoKeep } from "./photo.js";
import { photosKept } from "./work_kept.js";

/** `about` is what the photograph shows, as the command names it; `onKept` gets its id. */
export function photoInput({ label, about, onKept }) {
  const id = newId("photo");
  const input = h("input", { type: "file", accept: "image/*", capture: "environment", id, class: "file-input" });
  input.addEventListener("change", async () => {
    const [file] = input.files;
    if (!file) return;
    const wanted = input.closest(".photos")?.querySelector(".photo-place input");
    const found = wanted?.checked ? await placeNow() : null;
    try {
      onKept?.(await photoKeep({ file, place: found?.point ?? null, ...about }));
    } catch (error) {
      console.warn(error);
      say(t("photo.failed"));
    }
    if (wanted) wanted.checked = false;
    input.value = "";
  });
  return h("span", { class: "file-button" }, input, h("label", { for: id, class: "plain-button" }, label));
}

/** Buttons, the switch for the place, and what was taken. `buttons` are {label, about}; `ids` the photographs so far. */
export function photos({ name, buttons, ids, onKept }) {
  const shown = h("ul", { class: "photo-list" });
  const mine = [...ids];
  const draw = async () => shown.replaceChildren(...(await photosKept(mine)).filter(Boolean).map(small));
  const taken = (id) => {
    mine.push(id);
    draw();
    onKept?.(id);
  };
  draw();
  return h(
    "div",
    { class: "photos", role: "group", "aria-label": name },
    h("div", { class: "row" }, buttons.map(({ label, about }) => photoInput({ label, about, onKept: taken }))),
    h("div", { class: "photo-place" }, toggle({ label: t("photo.keep_place") })),
    shown,
  );
}

function small({ blob, meta }) {
  const zone = state.sites.get(state.orders.get(meta.order)?.site)?.time_zone;
  const words = `${t(`photo.${meta.subject}`)} · ${clock(meta.taken_at, zone)}`;
  if (!blob) return h("li", {}, words);
  const address = URL.createObjectURL(blob);
  const picture = h("img", { src: address, alt: words, class: "photo-small" });
  picture.addEventListener("load", () => URL.revokeObjectURL(address));
  return h("li", {}, picture, h("span", {}, words));
}
