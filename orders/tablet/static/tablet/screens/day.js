// The day sheet: everybody's whole paid day, work and what is no order, confirmed for all at once.
import { day as dayWords, minutes, t } from "../core/i18n.js";
import { queue } from "../core/outbox.js";
import { session } from "../core/session.js";
import { state } from "../core/state.js";
import { change, read } from "../core/work.js";
import { actions, add, button, h, notice, pageHead, section } from "../core/ui.js";
import { dayLines, numbers, present } from "../parts/closing_day.js";
import { live, obstacles, text } from "../parts/closing_forms.js";
import { borne, total } from "../parts/daysheet.js";
import { orderName, personSheet } from "../parts/daysheet_form.js";
import { fieldDay } from "../parts/timers_kept.js";

const MINUTES_A_DAY = 24 * 60;

export async function render(root, params, app) {
  const day = fieldDay();
  const key = `sheets/${day}`;
  const [kept, lines, members] = await Promise.all([read(key, {}), dayLines(day), everybody(day)]);
  const draft = kept.draft ?? { people: {}, confirmedBy: session.name, reason: "" };
  for (const { person } of members) if (!draft.people[person]?.isTouched) draft.people[person] = {
    lines: lines(person),
    isTouched: false,
  };
  const page = { day, key, draft, members, confirmed: kept.confirmed ?? {}, app };
  const [foot, redraw] = live(() => footOf(page));
  page.keep = () => change(key, (old) => ({ ...old, draft }));
  page.changed = (values = {}) => {
    Object.assign(draft, values);
    page.keep();
    redraw();
  };
  const isAgain = Object.keys(page.confirmed).length > 0;
  const copy = button(t("sheet.same_for_all", { name: members[0]?.name ?? "" }), () => same(page));
  add(
    root,
    pageHead(t("sheet.title", { day: dayWords(day) }), "/"),
    isAgain ? notice(t("sheet.is_confirmed"), "good") : null,
  );
  add(
    root,
    members.length > 1 ? h("div", { class: "row" }, copy) : null,
    members.map((member) => personSheet(page, member)),
  );
  add(root, naming(page, isAgain), foot);
}

async function everybody(day) {
  const crews = await Promise.all(
    session.crews.map(async (crew) => (await present(crew, day)).map((member) => ({ ...member, crew }))),
  );
  return [...new Map(crews.flat().map((member) => [member.person, member])).values()];
}

/** What is no work on an order is mostly the same for a whole crew. */
async function same({ draft, members, keep, app }) {
  const shared = draft.people[members[0].person].lines.filter((line) => line.code !== "work");
  for (const { person } of members.slice(1)) {
    const own = draft.people[person].lines.filter((line) => line.code === "work");
    draft.people[person] = { lines: [...own, ...shared.map((line) => ({ ...line }))], isTouched: true };
  }
  await keep();
  app.again();
}

function naming({ draft, changed }, isAgain) {
  return section(
    t("close.name_title"),
    isAgain ? text(t("close.reason"), draft.reason, (reason) => changed({ reason }), { maxlength: 300 }) : null,
    text(t("close.confirmed_by"), draft.confirmedBy, (confirmedBy) => changed({ confirmedBy }), { maxlength: 120 }),
  );
}

const sheetsOf = ({ draft, members }) => members.map(
  (member) => ({ ...member, lines: draft.people[member.person].lines.filter((line) => line.minutes > 0) }),
);

function footOf(page) {
  const { draft, confirmed } = page;
  const sheets = sheetsOf(page).filter((sheet) => sheet.lines.length);
  const isAgain = Object.keys(confirmed).length > 0;
  const wrong = [
    ...(sheets.length ? [] : [t("sheet.wrong_empty")]),
    ...sheets.filter((sheet) => total(sheet.lines) > MINUTES_A_DAY).map(({ name }) => t("sheet.wrong_long", { name })),
    ...(draft.confirmedBy.trim() ? [] : [t("close.wrong_name")]),
    ...(isAgain && !draft.reason.trim() ? [t("close.wrong_reason")] : []),
  ];
  return [
    shares(sheets),
    obstacles(wrong),
    actions(button(t("sheet.confirm"), () => saved(page, sheets), { main: true, disabled: wrong.length > 0 })),
  ];
}

function shares(sheets) {
  const found = new Map();
  for (const { lines } of sheets) {
    for (const [order, part] of borne(lines, numbers(), state.policy.split_rule)) {
      const old = found.get(order) ?? { work: 0, drive: 0, rain: 0 };
      found.set(order, { work: old.work + part.work, drive: old.drive + part.drive, rain: old.rain + part.rain });
    }
  }
  const cells = (order, part) => [
    orderName(order),
    ...[part.work, part.drive, part.rain, part.work + part.drive + part.rain].map(minutes),
  ].map((cell) => h("td", {}, cell));
  const rows = [...found].map(([order, part]) => h("tr", {}, cells(order, part)));
  const heads = [
    "sheet.order",
    "time.code.work",
    "time.code.drive",
    "time.code.rain",
    "sheet.sum",
  ].map((key) => h("th", { scope: "col" }, t(key)));
  const rule = h("p", { class: "help" }, t(`sheet.rule_${state.policy.split_rule}`));
  if (!rows.length) return null;
  return section(
    t("sheet.shared"),
    rule,
    h(
      "div",
      { class: "scrolled", tabindex: "0", role: "region", "aria-label": t("sheet.shared") },
      h("table", {}, h("thead", {}, h("tr", {}, heads)), h("tbody", {}, rows)),
    ),
  );
}

async function saved({ day, key, draft, confirmed, app }, sheets) {
  const isAgain = Object.keys(confirmed).length > 0;
  const rule = state.policy.split_rule;
  for (const [place, { person, crew, lines }] of sheets.entries()) {
    const rows = lines.map(
      ({ code, order, minutes: spent, origin, note }) => ({ code, order, minutes: spent, origin, note }),
    );
    const body = {
      id: crypto.randomUUID(),
      crew,
      person,
      work_date: day,
      rule,
      lines: rows,
      confirmed_by: draft.confirmedBy.trim(),
      ...(isAgain ? { reason: draft.reason.trim() } : {}),
    };
    const isLast = place === sheets.length - 1;
    const keep = (old) => ({
      ...old,
      confirmed: { ...old?.confirmed, [person]: { id: body.id, lines: rows } },
      draft: isLast ? null : old?.draft,
    });
    await queue("day-sheet", body, { writes: [["work", key, keep]] });
  }
  app.again();
}
