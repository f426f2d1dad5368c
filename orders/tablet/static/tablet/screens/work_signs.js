// Notices at the site: when each went up and came down, where, with a photograph.

import { dayClock, t } from "../core/i18n.js";
import { queue } from "../core/outbox.js";
import { state } from "../core/state.js";
import { button, field, h, section, textInput, toggle } from "../core/ui.js";
import { placeNow } from "../parts/map_place.js";
import { photos } from "../parts/photo_input.js";
import { changeOrder, orderKept, orderWrite } from "../parts/work_kept.js";

async function post(order, sign, state, share) {
  const found = share ? await placeNow() : null;
  const at = new Date().toISOString();
  const body = { id: crypto.randomUUID(), sign: sign.sign, state, site: order.site, place: sign.place };
  if (found) Object.assign(body, { lon: found.point[0], lat: found.point[1] });
  const row = { photos: [], ...sign, [`${state}_at`]: at };
  const put = (value) => ({ ...value, signs: [...value.signs.filter((one) => one.sign !== sign.sign), row] });
  await queue("sign", body, { order: order.id, happenedAt: at, writes: [orderWrite(order.id, put)] });
}

function photoKept(order, sign) {
  return (id) => {
    const added = (one) => (one.sign === sign.sign ? { ...one, photos: [...(one.photos ?? []), id] } : one);
    return changeOrder(order.id, (value) => ({ ...value, signs: value.signs.map(added) }));
  };
}

function signRow(order, sign, draw) {
  const time = (at) => ({ time: dayClock(at, state.sites.get(order.site)?.time_zone) });
  const words = [t("sign.up", time(sign.up_at)), sign.down_at ? t("sign.down", time(sign.down_at)) : ""];
  const down = async () => {
    await post(order, sign, "down", false);
    await draw();
  };
  const about = { subject: "sign", order: order.id, about: "sign", aboutId: sign.sign };
  const buttons = [{ label: t("photo.take"), about }];
  return h(
    "li",
    { class: "sign" },
    h("h3", {}, sign.place),
    h("p", {}, words.filter(Boolean).join(" · ")),
    sign.down_at ? null : button(t("sign.take_down"), down, { "aria-label": t("sign.take_down_of", { place: sign.place }) }),
    photos({ name: t("photo.of", { code: sign.place }), buttons, ids: sign.photos ?? [], onKept: photoKept(order, sign) }),
  );
}

export async function signsSection(order) {
  const list = h("ul", { class: "signs" });
  const typed = { place: t("sign.usual_place"), share: false };
  const draw = async () => {
    const { signs } = await orderKept(order.id);
    list.replaceChildren(...[...signs].sort((one, other) => one.up_at.localeCompare(other.up_at)).map((sign) => signRow(order, sign, draw)));
  };
  const up = async () => {
    if (!typed.place.trim()) return;
    await post(order, { sign: crypto.randomUUID(), place: typed.place.trim() }, "up", typed.share);
    await draw();
  };
  await draw();
  const place = textInput({ value: typed.place, maxlength: 120, onchange: (text) => { typed.place = text; } });
  return section(
    t("sign.title"),
    list,
    field({ label: t("sign.place"), control: place }),
    toggle({ label: t("sign.share"), onchange: (share) => { typed.share = share; } }),
    button(t("sign.put_up"), up),
  );
}
