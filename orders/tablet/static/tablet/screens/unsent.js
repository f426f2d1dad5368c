// What waits and since when, what the office had to say about what it has, and the way out by a file.

import { exported, save } from "../core/export.js";
import { age, dayClock, has, t, tn } from "../core/i18n.js";
import { onNews, tell } from "../core/news.js";
import { unsent } from "../core/outbox.js";
import { session } from "../core/session.js";
import { all, remove } from "../core/store.js";
import { sync, syncNow } from "../core/sync.js";
import { actions, button, confirmSheet, facts, h, notice, pageHead, say, section } from "../core/ui.js";

const OLD_MS = 24 * 3600 * 1000;

/** A kind of command in people's words; one that this version does not know keeps its own name. */
function kindWords(kind) {
  return has(`kind.${kind}`) ? t(`kind.${kind}`) : kind;
}

function row({ seq, kind, queued_at }) {
  return h("li", {}, h("span", { class: "number quiet" }, `${seq} `), kindWords(kind), h("span", { class: "quiet" }, ` · ${dayClock(queued_at)}`));
}

function waitingPart(rows, counts) {
  if (!rows.length && !counts.photos) return notice(t("unsent.none"), "good");
  const old = counts.oldest && Date.now() - Date.parse(counts.oldest) > OLD_MS;
  const warning = old ? notice(t("unsent.old", { age: age(counts.oldest) }), "trouble") : null;
  const photos = counts.photos ? h("p", {}, tn("core.photos_to_send", counts.photos)) : null;
  return section(t("unsent.waits"), warning, rows.length ? h("ol", { class: "plain" }, rows.map(row)) : null, photos);
}

function answerPart({ id, answer, envelope, at }, again) {
  const errors = (answer.errors ?? []).map((one) => h("li", {}, [one.field, one.message].filter(Boolean).join(": ")));
  const seen = button(t("unsent.seen"), async () => {
    if (!(await confirmSheet({ title: t("unsent.seen_title"), body: t("unsent.seen_more"), yes: t("unsent.seen") }))) return;
    await remove("answers", id);
    tell("unsent-changed");
    again();
  });
  return h(
    "li",
    { class: "answer" },
    h("h3", {}, envelope ? kindWords(envelope.kind) : t("unsent.earlier")),
    h("p", { class: "quiet" }, `${t(`unsent.${answer.state}`)} · ${dayClock(envelope?.happened_at ?? at)}`),
    answer.message ? h("p", {}, answer.message) : null,
    errors.length ? h("ul", {}, errors) : null,
    seen,
  );
}

function answersPart(answers, again) {
  if (!answers.length) return null;
  return section(t("unsent.answers"), h("p", {}, t("unsent.answers_more")), h("ul", { class: "plain" }, answers.map((one) => answerPart(one, again))));
}

function contactPart() {
  const rows = [[t("unsent.reach"), sync.reached ? t("core.online") : t("core.offline")]];
  if (sync.again && sync.again > Date.now()) rows.push([t("unsent.next"), dayClock(new Date(sync.again).toISOString())]);
  if (sync.trouble) rows.push([t("unsent.trouble"), sync.trouble]);
  return section(t("unsent.contact"), facts(rows));
}

async function saveFile() {
  const day = new Date().toISOString().slice(0, 10);
  save(await exported(), `fencerow-unsent-${day}.json`);
  say(t("unsent.saved"));
}

export async function render(root, params, app) {
  async function draw() {
    const [rows, answers, counts] = await Promise.all([all("outbox"), all("answers"), unsent()]);
    const stopped = session.stopped ? notice(t(`stopped.${session.stopped}`), "trouble") : null;
    const parts = [pageHead(t("unsent.title"), "/"), stopped, waitingPart(rows, counts), answersPart(answers, draw), contactPart()];
    const now = button(t("unsent.now"), () => syncNow({ fresh: true }), { main: true, disabled: Boolean(session.stopped) });
    root.replaceChildren(...parts.filter(Boolean), actions(button(t("unsent.file"), saveFile), now));
  }
  const stop = new AbortController();
  for (const name of ["unsent-changed", "sync-changed"]) onNews(name, draw, stop.signal);
  await draw();
  return () => stop.abort();
}
