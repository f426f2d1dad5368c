// One application record: filled from what happened, finished and signed here, with or without a signal.
import { clock, t } from "../core/i18n.js";
import { queue } from "../core/outbox.js";
import { session } from "../core/session.js";
import { crewPeople, state } from "../core/state.js";
import { read } from "../core/work.js";
import { actions, add, button, facts, notice, pageHead, section } from "../core/ui.js";
import { batches, productOf } from "../parts/closing_day.js";
import { drafted, live, text } from "../parts/closing_forms.js";
import { missing, wanted } from "../parts/records.js";
import { filled, owed, uncertified } from "../parts/records_fill.js";
import { editable, told } from "../parts/records_form.js";
import { namesOf, profileOf, stateOf } from "../parts/records_words.js";

export async function render(root, params, app) {
  const [known, kept] = await Promise.all([batches(), read("records", {})]);
  const group = owed(known).find((one) => one.key === params.key);
  if (!group) {
    add(root, pageHead(t("record.title"), "/records"), notice(t("record.not_here"), "trouble"));
    return;
  }
  const batch = known[group.batch];
  const site = state.sites.get(group.site);
  const members = crewPeople(batch.crew, group.work_date);
  const facts_ = await filled(group, batch, site, members);
  const signed = kept[group.key]?.signed ?? null;
  const form = await drafted(
    `record/${group.key}`,
    () => ({ values: { ...remembered(kept), ...(signed?.values ?? {}) }, signedBy: session.name, reason: "" }),
  );
  const profile = profileOf(site);
  const asked = wanted(profile, {
    isDiluted: batch.carrier_ul > 0,
    hasOthers: uncertified(group, site, members).length > 0,
  });
  const page = { group, batch, site, signed, asked, app, facts: facts_, ...form };
  const [foot, redraw] = live(() => footOf(page));
  page.put = (code, value) => {
    form.draft.values[code] = value;
    form.save();
    redraw();
  };
  page.change = (values) => {
    Object.assign(form.draft, values);
    form.save();
    redraw();
  };
  const state_ = stateOf(group, site, kept[group.key]);
  add(
    root,
    pageHead(t("record.title"), "/records"),
    notice(state_.words, state_.kind),
    notice(t("mix.law"), "caution"),
  );
  add(
    root,
    section(t("record.from_day"), facts(told(page, clock))),
    section(t("record.more"), editable(page)),
    signing(page),
    foot,
  );
}

/** What was last told of who asked for the work: the same next time, until somebody changes it. */
function remembered(kept) {
  const last = Object.values(kept).filter((one) => one.signed?.values.requester).at(-1);
  return last ? { requester: last.signed.values.requester } : {};
}

const valuesOf = ({ facts: found, draft }) => ({ ...found, ...draft.values });

function signing({ draft, signed, change }) {
  return section(
    t("record.sign_title"),
    text(t("record.signed_by"), draft.signedBy, (signedBy) => change({ signedBy }), { maxlength: 120 }),
    signed ? text(t("record.reason"), draft.reason, (reason) => change({ reason }), { maxlength: 300 }) : null,
  );
}

function footOf(page) {
  const { draft, asked, batch, signed } = page;
  const products = batch.parts.map((part) => part.product);
  const herbicides = products.filter((code) => productOf(code).is_herbicide !== false);
  const lacking = missing(asked, valuesOf(page), products, herbicides);
  const isReady = draft.signedBy.trim() !== "" && (!signed || draft.reason.trim() !== "");
  const label = t(lacking.length ? "record.sign_incomplete" : "record.sign");
  return [
    lacking.length ? notice(
      t("record.missing", { fields: namesOf(lacking) }),
      "caution",
    ) : notice(t("record.all_there"), "good"),
    actions(button(label, () => saved(page, lacking), { main: true, disabled: !isReady })),
  ];
}

async function saved(page, lacking) {
  const { group, draft, signed, drop, app } = page;
  const { batch, site, work_date, responsible } = group;
  const values = Object.fromEntries(
    Object.entries(valuesOf(page)).filter(([, value]) => value !== "" && value !== null),
  );
  const signedBy = draft.signedBy.trim();
  const body = {
    id: crypto.randomUUID(),
    batch,
    site,
    work_date,
    responsible,
    values,
    signed_by: signedBy,
    ...(signed ? { reason: draft.reason.trim() } : {}),
  };
  const row = { signed: { id: body.id, values, signed_by: signedBy, missing: lacking, at: new Date().toISOString() } };
  await queue(
    "application-record",
    body,
    { writes: [["work", "records", (all) => ({ ...all, [group.key]: row })], drop] },
  );
  app.go("/records");
}
