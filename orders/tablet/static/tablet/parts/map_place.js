// Where this tablet is. A screen listens while it is shown; the last place found is kept for forms that ask for one.

let last = null;
let watching = null;
const listeners = new Set();
const OPTIONS = { enableHighAccuracy: true, maximumAge: 10_000, timeout: 30_000 };

function found({ coords, timestamp }) {
  last = { point: [coords.longitude, coords.latitude], accuracy_m: coords.accuracy, at: timestamp, trouble: "" };
  for (const listener of listeners) listener(last);
}

function failed(error) {
  const trouble = error.code === error.PERMISSION_DENIED ? "denied" : "none";
  last = { ...(last ?? { point: null, accuracy_m: null, at: null }), trouble };
  for (const listener of listeners) listener(last);
}

/** Follow the place while `element` is on the page; `listener` gets {point, accuracy_m, at, trouble}. */
export function followPlace(element, listener) {
  if (!("geolocation" in navigator)) return void listener({ point: null, trouble: "none" });
  const heard = (place) => (element.isConnected ? listener(place) : leave(heard));
  listeners.add(heard);
  if (last) listener(last);
  watching ??= navigator.geolocation.watchPosition(found, failed, OPTIONS);
}

function leave(heard) {
  listeners.delete(heard);
  if (listeners.size || watching === null) return;
  navigator.geolocation.clearWatch(watching);
  watching = null;
}

/** One reading for a form: [lon, lat] with its accuracy, or null where there is none. */
export function placeNow() {
  return new Promise((resolve) => {
    if (!("geolocation" in navigator)) return resolve(null);
    const got = ({ coords }) => resolve({ point: [coords.longitude, coords.latitude], accuracy_m: coords.accuracy });
    navigator.geolocation.getCurrentPosition(got, () => resolve(null), OPTIONS);
  });
}
