// Elements without markup in strings: data can never become a tag.

const PROPERTIES = new Set(["checked", "disabled", "hidden", "required", "readOnly", "selected", "multiple", "open"]);

function set(element, name, value) {
  if (value === null || value === undefined || value === false) return;
  if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
  else if (name === "style") Object.assign(element.style, value); // the policy allows no style attribute
  else if (PROPERTIES.has(name)) element[name] = Boolean(value);
  else element.setAttribute(name, value === true ? "" : String(value));
}

export function add(element, ...children) {
  for (const child of children.flat(Infinity)) {
    if (child === null || child === undefined || child === false) continue;
    element.append(child instanceof Node ? child : String(child));
  }
  return element;
}

export function h(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes ?? {})) set(element, name, value);
  if ("value" in (attributes ?? {}) && "value" in element && attributes.value !== null) element.value = attributes.value ?? "";
  return add(element, ...children);
}

let last = 0;

/** An id that no other element of the page has. */
export function newId(word) {
  last += 1;
  return `${word}-${last}`;
}
