// Who may mix and who may apply at a site on a day, with the reason. It repeats what is on record; the license, the
// label and the rules of the state decide.

const CERTIFIED = "certified-applicator";
const TECHNICIAN = "registered-technician";

const holds = (row, day) => (!row.first_day || row.first_day <= day) && (!row.last_day || day <= row.last_day);

function held(member, site, day, kind) {
  const own = (member.qualifications ?? []).filter((one) => one.kind === kind && holds(one, day));
  return own.filter((one) => !one.jurisdiction || one.jurisdiction === site.jurisdiction?.code);
}

export const certificate = (member, site, day) => held(member, site, day, CERTIFIED)[0] ?? null;
export const isCertified = (member, site, day) => member.of_age !== false && certificate(member, site, day) !== null;

const no = (why) => ({ may: false, why, supervisedBy: null });
const yes = (why, supervisedBy = null) => ({ may: true, why, supervisedBy });

// `members`: those of the crew who are there.
export function mayMix(member, site, day, members) {
  if (member.of_age === false) return no("under_age");
  if (isCertified(member, site, day)) return yes("certified");
  const own = held(member, site, day, TECHNICIAN);
  if (!own.length) return no("no_license");
  const near = members.find(
    (one) => own.some((row) => row.supervised_by === one.person) && isCertified(one, site, day),
  );
  return near ? yes("supervised", near.person) : no("supervisor_away");
}

/** As for mixing, or with a permit that covers each of the products on this land on that day. */
export function mayApply(member, site, day, members, products) {
  const licensed = mayMix(member, site, day, members);
  if (licensed.may || member.of_age === false) return licensed;
  const permits = (member.permits ?? []).filter((one) => holds(one, day));
  if (!permits.length) return licensed;
  const against = products.filter((one) => one.is_herbicide !== false).map((one) => againstPermit(permits, one, site));
  return against.find((one) => one !== null) ?? yes("permit");
}

function againstPermit(permits, product, site) {
  if (!site.record?.volunteers_may_apply) return no("volunteers_not_here");
  const words = (site.record.volunteer_signal_words ?? []).map((word) => word.toLowerCase());
  if (words.length && !words.includes((product.signal_word ?? "").toLowerCase())) return no("signal_word");
  const onLand = permits.filter((permit) => permit.sites.includes(site.id));
  return onLand.some((permit) => permit.products.includes(product.code)) ? null : no("not_on_permit");
}
