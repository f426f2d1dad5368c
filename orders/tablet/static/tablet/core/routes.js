// Which screen stands at which address. `entry`: something is typed in there, so a new version of the program waits.

const entry = true;

export const ROUTES = [
  ["/", () => import("../screens/today.js")],
  ["/unlock", () => import("../screens/unlock.js"), { open: true }],
  ["/enroll", () => import("../screens/enroll.js"), { open: true, entry }],
  ["/enroll/:code", () => import("../screens/enroll.js"), { open: true, entry }],
  ["/unsent", () => import("../screens/unsent.js"), { open: true }],
  ["/settings", () => import("../screens/settings.js")],
  ["/order/:id", () => import("../screens/order.js")],
  ["/order/:id/map", () => import("../screens/map.js")],
  ["/order/:id/label", () => import("../screens/label.js")],
  ["/order/:id/emergency", () => import("../screens/emergency.js")],
  ["/check-in", () => import("../screens/check_in.js"), { entry }],
  ["/briefing/:site", () => import("../screens/briefing.js"), { entry }],
  ["/order/:id/work", () => import("../screens/work.js"), { entry }],
  ["/time", () => import("../screens/timer.js"), { entry }],
  ["/time/:day", () => import("../screens/timer.js"), { entry }],
  ["/incident", () => import("../screens/incident.js"), { entry }],
  ["/incident/:kind/:order", () => import("../screens/incident.js"), { entry }],
  ["/detection/:site", () => import("../screens/detection.js"), { entry }],
  ["/mixes", () => import("../screens/mixes.js")],
  ["/mix/:order", () => import("../screens/mix.js"), { entry }],
  ["/batch/:id", () => import("../screens/mix_batch.js"), { entry }],
  ["/apply/:order", () => import("../screens/apply.js"), { entry }],
  ["/weather/:order", () => import("../screens/weather.js"), { entry }],
  ["/record/:key", () => import("../screens/record.js"), { entry }],
  ["/records", () => import("../screens/records.js")],
  ["/day-end", () => import("../screens/dayend.js"), { entry }],
  ["/order/:id/close", () => import("../screens/close.js"), { entry }],
  ["/order/:id/amend", () => import("../screens/amend.js"), { entry }],
  ["/day", () => import("../screens/day.js"), { entry }],
];

/** {load, params, options} for a path, or null. */
export function routeOf(path) {
  const parts = path.split("/");
  for (const [pattern, load, options = {}] of ROUTES) {
    const names = pattern.split("/");
    if (names.length !== parts.length) continue;
    const params = {};
    const fits = names.every((name, place) => {
      if (!name.startsWith(":")) return name === parts[place];
      params[name.slice(1)] = decodeURIComponent(parts[place]);
      return parts[place] !== "";
    });
    if (fits) return { load, params, options };
  }
  return null;
}
