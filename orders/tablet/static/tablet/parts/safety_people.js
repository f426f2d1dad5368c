// Who may take part in what. Nobody who is not of age works with saws or herbicide, and nobody does so alone unless the
// program's policy allows it. The office is told of what was done against this; the tablet does not start it.

const SAWYER = "sawyer";

/** What is dangerous about a row of an order's work. Where an order has saws and no row says which, each has. */
export function dangersOf(order, row) {
  const isNamed = order.work.some((one) => one.method.qualification === SAWYER);
  const isSawn = isNamed ? row.method.qualification === SAWYER : (order.hazards ?? []).includes("saws");
  return { herbicide: Boolean(row.method.uses_herbicide), saws: isSawn };
}

const isDangerous = ({ herbicide, saws }) => herbicide || saws;

export function orderDangers(order) {
  const rows = order.work.map((row) => dangersOf(order, row));
  return { herbicide: rows.some((row) => row.herbicide), saws: rows.some((row) => row.saws) };
}

/** The rows of an order that a person may work on: all, or for somebody not of age those without saws and herbicide. */
export function rowsFor(order, member) {
  if (member.of_age !== false) return order.work;
  return order.work.filter((row) => !isDangerous(dangersOf(order, row)));
}

/** Names of those of whom nothing is on record, where it matters: the lead answers for their age. */
export function ageUnknown(order, members) {
  return isDangerous(orderDangers(order)) ? members.filter((one) => one.of_age === null).map((one) => one.name) : [];
}

/** "" or why the work must not begin with `count` people: "lone_saw", "lone_herbicide". */
export function loneTrouble(order, count, policy) {
  if (count !== 1) return "";
  const { herbicide, saws } = orderDangers(order);
  if (saws && !policy.lone_saw_work) return "lone_saw";
  return herbicide && !policy.lone_herbicide_work ? "lone_herbicide" : "";
}

const holds = (row, day) => (!row.first_day || row.first_day <= day) && (!row.last_day || day <= row.last_day);

export function qualificationsOn(member, day) {
  return (member.qualifications ?? []).filter((row) => holds(row, day));
}

export const hasSaw = (member, day) => member.of_age !== false && qualificationsOn(member, day).some((row) => row.kind === SAWYER);
