// The patches that the page asks for: fetched once for each address, and waited for by what needs them.

import { ask, read } from "./map_data.js";
import { say } from "./map_words.js";

export class Patches {
  /** `done` is called when the picture holds what was asked for last. */
  constructor(picture, done) {
    this.picture = picture;
    this.done = done;
  }

  /** Asked for again only where the measure or a filter changed. */
  load(address) {
    this.loading = this.#load(address);
  }

  /** Does what needs the patches: a press that comes before they do waits for the last that were asked for. */
  async when(act) {
    for (let waited; waited !== this.loading; ) {
      waited = this.loading;
      await waited.catch(() => null);
    }
    if (this.picture.table) act();
  }

  async #load(address) {
    if (address !== this.address) {
      this.address = address;
      this.arriving = this.#fetch(address);
    }
    if (await this.arriving) this.done();
  }

  /** Whether they came; not where others were asked for meanwhile. */
  async #fetch(address) {
    this.asking?.abort();
    this.asking = new AbortController();
    const said = await ask(address, this.asking.signal).catch((error) => this.#unread(error));
    if (said) this.picture.table = read(said);
    return said !== null;
  }

  /** The same address is asked for again at the next turn. */
  #unread(error) {
    this.address = null;
    say("The patches could not be read. Load the page again.");
    throw error;
  }
}
