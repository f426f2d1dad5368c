// What is marked: one set for the map and the list, kept by the server so that it outlives paging, filters and the page.

const WAIT_MS = 300;
const MOST_KEPT_ALIVE = 60_000; // bytes that a browser sends after a page is left

export class Marks extends EventTarget {
  constructor(address) {
    super();
    this.address = address;
    this.numbers = new Set((this.#form()?.marks.value ?? "").split(" ").filter(Boolean).map(Number));
    addEventListener("pagehide", () => this.#save(true));
  }

  has(number) {
    return this.numbers.has(number);
  }

  toggle(number) {
    this.put([number], !this.has(number));
    return this.has(number);
  }

  /** Marks many, or takes their marks away. */
  put(numbers, marked = true) {
    for (const number of numbers) {
      if (marked) this.numbers.add(number);
      else this.numbers.delete(number);
    }
    this.#changed();
  }

  clear() {
    this.numbers.clear();
    this.#changed();
  }

  /** Puts the list in step: after a change, and after another page of it was fetched. */
  fill() {
    const form = this.#form();
    if (!form) return;
    form.scripts.value = "yes";
    form.marks.value = [...this.numbers].join(" ");
    for (const box of form.querySelectorAll("input[name=patch]")) box.checked = this.has(Number(box.value));
    document.getElementById("marked-count").textContent = this.numbers.size;
  }

  #form() {
    return document.forms.marked;
  }

  #changed() {
    this.fill();
    this.dispatchEvent(new Event("change"));
    clearTimeout(this.waiting);
    this.waiting = setTimeout(() => this.#save(), WAIT_MS);
  }

  /** The whole set each time, so that a lost or late answer does no harm. */
  #save(leaving = false) {
    if (leaving && !this.waiting) return;
    clearTimeout(this.waiting);
    this.waiting = null;
    const token = this.#form()?.csrfmiddlewaretoken.value;
    if (!token) return;
    const marks = [...this.numbers].join(" ");
    const body = new URLSearchParams({ csrfmiddlewaretoken: token, scripts: "yes", marks });
    const keepalive = leaving && marks.length < MOST_KEPT_ALIVE;
    fetch(this.address, { method: "POST", body, keepalive }).catch(() => this.dispatchEvent(new Event("unsaved")));
  }
}
