// The values of a record as the facts of this tablet tell them. Nothing is guessed that no fact tells.
import { state } from "../core/state.js";
import { productOf } from "./closing_day.js";
import { checksOf } from "./limits_words.js";
import { certificate } from "./mixes_who.js";
import { amounts, areaOf, areaStated, groups, rates } from "./records.js";

/** Records that are owed for what was applied, the newest first. Of mixes without herbicide none is. */
export function owed(known) {
  const isHerbicide = (group) => known[group.batch].parts.some(
    (part) => productOf(part.product).is_herbicide !== false,
  );
  return groups(known).filter(isHerbicide).sort((a, b) => b.ended_at.localeCompare(a.ended_at));
}

const workOf = (group) => group.applications.flatMap(
  (one) => (state.orders.get(one.order)?.work ?? []).filter((row) => row.prescription === one.prescription),
);
const once = (rows) => [...new Set(rows.filter(Boolean))].sort();

export function uncertified(group, site, members) {
  const ids = once(group.applications.flatMap((one) => one.people));
  return members.filter((one) => ids.includes(one.person) && !certificate(one, site, group.work_date));
}

function otherWords(member, members) {
  const own = (member.qualifications ?? []).find((one) => one.supervised_by);
  const name = members.find((one) => one.person === own?.supervised_by)?.name;
  const license = own?.number ? `${member.name} (${own.number})` : member.name;
  return name ? `${license} / ${name}` : license;
}

async function weather(group) {
  const checks = await checksOf({ site: group.site }, group.work_date);
  const wind = checks.find(
    (one) => one.wind_m_s === 0 || (one.wind_m_s > 0 && one.wind_from_deg !== null && one.wind_from_deg !== undefined),
  );
  const warm = checks.find((one) => one.air_temperature_c !== null && one.air_temperature_c !== undefined);
  return {
    ...(wind ? { wind: { speed_m_s: wind.wind_m_s, from_deg: wind.wind_from_deg ?? null } } : {}),
    ...(warm ? { air_temperature: warm.air_temperature_c } : {}),
  };
}

export async function filled(group, batch, site, members) {
  const work = workOf(group);
  const responsible = members.find((one) => one.person === group.responsible);
  const area = areaOf(group.applications);
  const products = batch.parts.map((part) => productOf(part.product));
  const patches = once(work.map((row) => row.patch_code));
  const named = (name) => Object.fromEntries(products.filter((one) => one[name]).map((one) => [one.code, one[name]]));
  const values = {
    requester: state.rest.program_name ?? "",
    location: [`${site.name} (${site.code})`, patches.join(", ")].filter(Boolean).join(": "),
    use_site: once(work.map((row) => row.method?.name)).join(", "),
    target_pest: once(work.flatMap((row) => row.species ?? [])).join(", "),
    date: group.work_date,
    start_time: group.started_at,
    end_time: group.ended_at,
    product: named("name"),
    registration_number: named("registration_number"),
    amount: amounts(batch, group.applications),
    rate: rates(batch),
    applicator: responsible?.name ?? "",
    license_number: responsible ? (certificate(responsible, site, group.work_date)?.number ?? "") : "",
    noncertified_applicator: uncertified(group, site, members).map((one) => otherWords(one, members)).join(", "),
    equipment: once(group.applications.map((one) => one.equipment)).join(", "),
    ...(area ? { area_treated: areaStated(area) } : {}),
    ...(await weather(group)),
  };
  return Object.fromEntries(Object.entries(values).filter(([, value]) => value !== "" && value !== null));
}
