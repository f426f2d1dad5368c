// What this tablet knows of an order's hours before anybody types: timers, who was there, the drive, the weather.
import { state } from "../core/state.js";
import { read } from "../core/work.js";
import { openVisits, shareRows } from "./closing.js";
import { dayLines, present, siteOf, spansOf } from "./closing_day.js";
import { checksOf, lastOf } from "./limits_words.js";
import { rowsFor } from "./safety_people.js";
import { timerDays, workDay } from "./timers_kept.js";

/** `told`: days that a close-out speaks of already. */
export async function known(order, told = []) {
  const now = workDay(siteOf(order));
  const dayOf = (visit) => (visit.day <= now ? visit.day : visit === openVisits(order)[0] ? now : null);
  const spans = await spansOf(await timerDays());
  const worked = spans.filter((span) => span.order === order.id).map((span) => span.work_date);
  const days = [...new Set([...openVisits(order).map(dayOf), ...worked, ...told])].filter(Boolean).sort();
  if (!days.length) days.push(now);
  const [people, lines] = await Promise.all([
    Promise.all(days.map((day) => present(order.crew, day))),
    Promise.all(days.map((day) => dayLines(day, [order.id]))),
  ]);
  const members = new Map(people.flat().map((member) => [member.person, member]));
  for (const member of state.crews.get(order.crew)?.members ?? []) members.set(member.person, member);
  return {
    days,
    spans,
    members: [...members.values()],
    dayOf,
    peopleOf: (day) => (people[days.indexOf(day)] ?? []).filter(
      (member) => rowsFor(order, member).length,
    ).map((member) => member.person),
    linesOf: (person, day) => lines[days.indexOf(day)]?.(person) ?? [],
    driveOf: () => 2 * (siteOf(order)?.drive_minutes ?? 0),
    weather: await weatherOf(order, days),
  };
}

async function weatherOf(order, days) {
  const checks = (await Promise.all(days.map((day) => checksOf(order, day)))).flat();
  const measured = lastOf(checks, "start") ?? checks.at(-1) ?? null;
  const told = measured ?? (await briefed(order, days)) ?? {};
  const { air_temperature_c, relative_humidity_percent, wind_m_s, wind_from_deg, sky } = told;
  const weather = { air_temperature_c, relative_humidity_percent, wind_m_s, wind_from_deg, sky };
  return Object.fromEntries(
    Object.entries(weather).filter(([, value]) => value !== undefined && value !== null && value !== ""),
  );
}

async function briefed(order, days) {
  const kept = await Promise.all(days.map((day) => read(`day/${day}`, {})));
  const briefings = kept.flatMap((one) => Object.values(one.briefings ?? {}));
  return briefings.filter((one) => one.site === order.site).at(-1)?.conditions ?? null;
}

export function sharesOf(order, hours, found, numbers) {
  return shareRows(order, hours, found.linesOf, numbers, state.policy.split_rule);
}
