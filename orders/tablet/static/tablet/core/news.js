// What changed, told to this page and to the program's other tabs.

const channel = "BroadcastChannel" in globalThis ? new BroadcastChannel("fencerow-tablet") : null;

export function tell(name, detail = null) {
  document.dispatchEvent(new CustomEvent(name, { detail }));
  channel?.postMessage(name);
}

/** Tell this page alone. */
export function tellHere(name, detail = null) {
  document.dispatchEvent(new CustomEvent(name, { detail }));
}

/** `signal` ends it. */
export function onNews(name, listener, signal = undefined) {
  document.addEventListener(name, listener, { signal });
}

if (channel) channel.onmessage = (event) => tellHere(event.data, { elsewhere: true });
