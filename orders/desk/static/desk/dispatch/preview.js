// Asks the server what letting go somewhere would break: once for each place, after the pointer has rested there.

const REST_MS = 180;
const SILENCE = "the server does not answer; try another cell or the button Move";

export function previews(address) {
  const known = new Map();
  let timer = 0;
  let newest = "";
  let waiting = Promise.resolve();

  async function fetched(key, query) {
    if (!known.has(key)) known.set(key, await answer(query));
    return known.get(key);
  }

  async function answer(query) {
    const reply = await fetch(`${address}?${query}`, { headers: { Accept: "application/json" }, redirect: "error" });
    if (!reply.ok) throw new Error(`The server answered ${reply.status}`);
    return reply.json();
  }

  /** `tell` is called with the answer, unless another place was asked about meanwhile. */
  function ask(query, tell) {
    for (const name of ["csrfmiddlewaretoken", "reason", "back"]) query.delete(name);
    const key = newest = query.toString();
    clearTimeout(timer);
    waiting = new Promise((done) => {
      timer = setTimeout(async () => {
        let told;
        try {
          told = await fetched(key, query);
        } catch {
          told = { place: "", breaks: [], trouble: SILENCE };
        }
        if (key === newest) tell(told);
        done();
      }, known.has(key) ? 0 : REST_MS);
    });
  }

  return { ask, answered: () => waiting };
}
