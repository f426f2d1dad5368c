// Of this tablet and the person at it: language, lock, storage, version.

import { date, dayClock, number, t, tn } from "../core/i18n.js";
import { languageButtons } from "../core/language_choice.js";
import { IDLE_CHOICES, idleKeep, lock, session } from "../core/session.js";
import { state } from "../core/state.js";
import { get } from "../core/store.js";
import { actions, button, choices, facts, h, link, notice, pageHead, section } from "../core/ui.js";
import { VERSION } from "../core/version.js";

const BYTES_PER_MB = 1_048_576;

async function storagePart() {
  const [asked, estimate] = await Promise.all([get("meta", "persisted"), navigator.storage?.estimate?.()]);
  const kept = (await navigator.storage?.persisted?.()) ?? asked ?? false;
  const used = t("settings.megabytes", { n: number((estimate?.usage ?? 0) / BYTES_PER_MB, 1) });
  const rows = [
    [t("settings.kept"), t(kept ? "settings.kept_yes" : "settings.kept_no")],
    [t("settings.used"), used],
  ];
  return section(t("settings.storage"), facts(rows), kept ? null : notice(t("settings.kept_hint")));
}

/** A page that is not installed may lose what it keeps after a week without a visit (Safari's documented rule). */
function installPart() {
  const installed = matchMedia("(display-mode: standalone)").matches || navigator.standalone === true;
  if (installed) return null;
  return section(t("settings.install"), h("p", {}, t("settings.install_why")), h("p", {}, t("settings.install_ipad")), h("p", {}, t("settings.install_other")));
}

async function aboutPart() {
  const [reached, pulled] = await Promise.all([get("meta", "reached_at"), get("meta", "pulled_at")]);
  const { device } = session;
  const rows = [
    [t("settings.tablet"), device?.name ?? ""],
    [t("settings.until"), device?.expires_on ? date(device.expires_on) : ""],
    [t("settings.units"), t(state.policy.units === "us" ? "settings.units_us" : "settings.units_metric")],
    [t("settings.reached"), reached ? dayClock(reached) : t("settings.never")],
    [t("settings.pulled"), pulled ? dayClock(pulled) : t("settings.never")],
    [t("settings.version"), VERSION],
  ];
  return section(t("settings.about"), facts(rows));
}

export async function render(root, params, app) {
  const idle = choices({
    legend: t("settings.idle"),
    options: IDLE_CHOICES.map((count) => ({ value: String(count), label: tn("core.minutes", count) })),
    value: String(session.idleMinutes),
    onchange: (value) => idleKeep(Number(value)),
  });
  const parts = [
    pageHead(t("settings.title"), "/"),
    section(t("settings.language"), languageButtons(app)),
    section(t("settings.lock"), idle, h("p", { class: "quiet" }, t("settings.idle_more"))),
    await storagePart(),
    installPart(),
    await aboutPart(),
    actions(link(t("settings.add_person"), "/enroll"), link(t("unsent.title"), "/unsent"), button(t("core.lock"), lock, { main: true })),
  ];
  root.append(...parts.filter(Boolean));
}
