// Something went wrong, or nearly: what, to whom, what was done. It goes to the office as urgent.

import { t } from "../core/i18n.js";
import { queue } from "../core/outbox.js";
import { session } from "../core/session.js";
import { crewPeople, state } from "../core/state.js";
import { actions, button, choices, field, h, link, notice, pageHead, section, textArea, textInput, toggle } from "../core/ui.js";
import { placeNow } from "../parts/map_place.js";
import { photos } from "../parts/photo_input.js";
import { fieldDay, workDay } from "../parts/timers_kept.js";
import { draft, draftDone } from "../parts/work_kept.js";
import { orderPath } from "../parts/work_links.js";

const KINDS = ["stop_work", "injury", "exposure", "spill", "near_miss"];
const STOPS = new Set(["stop_work", "injury", "exposure", "spill"]);

function fresh(kind) {
  return { kind, what_happened: "", what_was_done: "", people: [], told: "", work_stopped: STOPS.has(kind), share: true };
}

function firstSteps(kind) {
  return notice(h("div", {}, h("strong", {}, t("incident.first")), " ", t(`incident.first.${kind}`)), "caution");
}

function people(kept, order, date) {
  const crew = order?.crew ?? session.crews[0];
  const rows = crewPeople(crew, date).map(({ name }) =>
    toggle({
      label: name,
      checked: kept.value.people.includes(name),
      onchange: (isOne) => {
        const others = kept.value.people.filter((one) => one !== name);
        kept.keep({ people: isOne ? [...others, name] : others });
      },
    }),
  );
  return h("div", { role: "group", "aria-label": t("incident.people") }, h("h3", {}, t("incident.people")), rows);
}

function text(kept, name, long = true) {
  const make = long ? textArea : textInput;
  return field({ label: t(`incident.${name}`), control: make({ value: kept.value[name], maxlength: long ? 2000 : 200, onchange: (typed) => kept.keep({ [name]: typed }) }) });
}

async function send(kept, name, order, date) {
  const { share, ...said } = kept.value;
  const found = share ? await placeNow() : null;
  const site = order?.site ?? null;
  const body = { id: crypto.randomUUID(), ...said, work_date: date, crew: order?.crew ?? session.crews[0] ?? null, site, reported_by: session.name };
  if (found) Object.assign(body, { lon: found.point[0], lat: found.point[1] });
  await queue("incident", body, { order: order?.id ?? null, writes: [draftDone(name)] });
  return body;
}

function sent(root, body, order) {
  const about = { subject: "incident", about: "incident", aboutId: body.id, order: order?.id ?? null };
  root.replaceChildren(
    pageHead(t("incident.sent"), order ? orderPath(order, "/work") : "/"),
    notice(t("incident.sent_more"), "good"),
    firstSteps(body.kind),
    section(t("incident.photos"), photos({ name: t("incident.photos"), buttons: [{ label: t("photo.take"), about }], ids: [] })),
    actions(link(order ? t("links.work") : t("core.home"), order ? orderPath(order, "/work") : "/", { main: true })),
  );
}

export async function render(root, params, app) {
  const order = state.orders.get(params.order) ?? null;
  const date = order ? workDay(state.sites.get(order.site)) : fieldDay();
  const name = `incident/${params.kind ?? "any"}/${params.order ?? "none"}`;
  const kept = await draft(name, fresh(params.kind ?? "near_miss"));
  const trouble = h("div", { role: "alert" });
  const options = KINDS.map((kind) => ({ value: kind, label: t(`incident.${kind}`) }));
  const change = async (kind) => {
    await kept.keep({ kind, work_stopped: STOPS.has(kind) });
    app.again();
  };
  const report = async () => {
    if (kept.value.what_happened.trim()) return sent(root, await send(kept, name, order, date), order);
    return trouble.replaceChildren(notice(t("incident.say_what"), "trouble"));
  };
  root.replaceChildren(
    pageHead(t("incident.title"), order ? orderPath(order, "/work") : "/"),
    order ? h("div", { class: "row" }, link(t("links.emergency"), orderPath(order, "/emergency"), { class: "plain-button emergency-link" })) : "",
    choices({ legend: t("incident.kind"), options, value: kept.value.kind, onchange: change }),
    firstSteps(kept.value.kind),
    section(t("incident.report"), text(kept, "what_happened"), text(kept, "what_was_done"), people(kept, order, date), text(kept, "told", false)),
    toggle({ label: t("incident.work_stopped"), checked: kept.value.work_stopped, onchange: (work_stopped) => kept.keep({ work_stopped }) }),
    toggle({ label: t("incident.share"), checked: kept.value.share, onchange: (share) => kept.keep({ share }) }),
    trouble,
    actions(button(t("incident.send"), report, { danger: true })),
  );
}
