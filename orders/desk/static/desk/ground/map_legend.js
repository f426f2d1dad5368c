// The legend switches classes off: at once on the map, and a moment later in the list and the address.

const WAIT_MS = 300;

export class Legend {
  constructor(picture) {
    this.picture = picture;
  }

  /** A person's own change; the last of several in a row is sent. */
  change() {
    this.wanted = this.#checked();
    this.#draw();
    this.#send();
  }

  /** After the list was fetched: what was changed meanwhile is put back in and sent again. */
  fill() {
    const boxes = this.#boxes();
    const { by } = document.getElementById("found").dataset;
    if (by !== this.by) this.wanted = null;
    this.by = by;
    const is_behind = this.wanted && boxes.some((box) => box.checked !== this.wanted.has(box.value));
    if (is_behind) {
      for (const box of boxes) box.checked = this.wanted.has(box.value);
      this.#send();
    } else this.wanted = null;
    this.#draw();
  }

  #send() {
    clearTimeout(this.waiting);
    this.waiting = setTimeout(() => document.forms.legend?.requestSubmit(), WAIT_MS);
  }

  #draw() {
    this.picture.hidden = new Set(
      this.#boxes().filter((box) => !box.checked).map((box) => Number(box.dataset.class)),
    );
    this.picture.redraw();
  }

  #checked() {
    return new Set(this.#boxes().filter((box) => box.checked).map((box) => box.value));
  }

  #boxes() {
    return [...document.querySelectorAll("#legend input[name=shown]")];
  }
}
