// A PIN keeps a curious hand out; what it leaves here is a slow hash. Wrong tries cost time and never wipe anything.

const ITERATIONS = 250_000;
const FREE_TRIES = 4;
const FIRST_WAIT_S = 30;
const LONGEST_WAIT_S = 15 * 60;

export const LEAST_DIGITS = 4;

export function pinFits(pin) {
  return /^\d+$/.test(pin) && pin.length >= LEAST_DIGITS && pin.length <= 12;
}

async function derived(pin, salt, iterations) {
  const key = await crypto.subtle.importKey("raw", new TextEncoder().encode(pin), "PBKDF2", false, ["deriveBits"]);
  const bits = await crypto.subtle.deriveBits({ name: "PBKDF2", hash: "SHA-256", salt, iterations }, key, 256);
  return new Uint8Array(bits);
}

export async function pinMade(pin) {
  const salt = crypto.getRandomValues(new Uint8Array(16));
  return { salt, iterations: ITERATIONS, verifier: await derived(pin, salt, ITERATIONS), tries: 0, until: 0 };
}

export async function pinMatches(kept, pin) {
  const made = await derived(pin, kept.salt, kept.iterations);
  return made.reduce((differs, byte, place) => differs | (byte ^ kept.verifier[place]), 0) === 0;
}

/** What is kept after a wrong try at `now` (ms): from the fifth on each doubles the wait. */
export function pinMissed(kept, now) {
  const tries = kept.tries + 1;
  if (tries <= FREE_TRIES) return { ...kept, tries };
  const wait = Math.min(LONGEST_WAIT_S, FIRST_WAIT_S * 2 ** (tries - FREE_TRIES - 1));
  return { ...kept, tries, until: now + wait * 1000 };
}
