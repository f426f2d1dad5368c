// One question to the office, and which of its answers count. A login page of a hot spot is no answer.

import { session } from "./session.js";

const PATIENCE_MS = 60_000;
const lines = new Set(); // questions that may be under way, each with its own end

/** Nobody was reached, or somebody else answered. */
export class Unreached extends Error {}

/** Asked to wait: `seconds`. */
export class Busy extends Error {
  constructor(seconds) {
    super("busy");
    this.seconds = seconds;
  }
}

/** The office said no: its status, code and words. */
export class Refused extends Error {
  constructor(status, told) {
    super(told.detail || told.title || String(status));
    this.status = status;
    this.code = told.code ?? "";
    this.told = told;
  }
}

function retryAfter(response) {
  const said = response.headers.get("Retry-After") ?? "";
  const seconds = /^\d+$/.test(said) ? Number(said) : (Date.parse(said) - Date.now()) / 1000;
  return Number.isFinite(seconds) ? Math.min(3600, Math.max(1, seconds)) : 30;
}

/** Ends what is under way: once the network is gone, nothing of before is answered any more. */
export function hangUp() {
  for (const line of lines) line.abort();
}

/** The signal that ends a question when patience ends. */
function ending() {
  const made = new AbortController();
  lines.add(made);
  setTimeout(() => {
    lines.delete(made);
    made.abort();
  }, PATIENCE_MS);
  return made.signal;
}

async function reached(path, options, headers) {
  const token = session.device?.token;
  const sent = { ...headers, ...(token ? { Authorization: `Tablet ${token}` } : {}) };
  try {
    return await fetch(path, {
      ...options,
      headers: sent,
      cache: "no-store",
      credentials: "omit",
      redirect: "error",
      signal: ending(),
    });
  } catch (error) {
    throw new Unreached(error.message);
  }
}

function judged(response, told) {
  if (response.status === 429 || response.status === 503) throw new Busy(retryAfter(response));
  if (response.status >= 500) throw new Unreached(String(response.status));
  if (!response.ok) throw new Refused(response.status, told);
}

/** JSON there, JSON back. */
export async function ask(path, body) {
  const response = await reached(path, { method: "POST", body: JSON.stringify(body) }, { "Content-Type": "application/json", Accept: "application/json" });
  const kind = response.headers.get("Content-Type") ?? "";
  let told = {};
  if (/^application\/(problem\+)?json/.test(kind)) {
    try {
      told = await response.json();
    } catch (error) {
      throw new Unreached(error.message);
    }
  } else if (response.ok || [401, 403, 404, 405, 511].includes(response.status)) {
    throw new Unreached("not the office");
  }
  judged(response, told);
  return told;
}

/** Bytes there; back comes the response, whose headers say how much of it there is. */
export async function carry(method, path, { headers = {}, body } = {}) {
  const response = await reached(path, { method, body }, headers);
  if (response.status === 429 || response.status === 503) throw new Busy(retryAfter(response));
  if (response.status >= 500) throw new Unreached(String(response.status));
  return response;
}
