// Keeps the program itself, and nothing else: no data and no answer of the office ever lies in this cache. The lines
// above (VERSION, FILES) are written by the server.

const CACHE = `tablet-${VERSION}`;
const SHELL = "/tablet/";

async function fill() {
  const cache = await caches.open(CACHE);
  await Promise.all(
    FILES.map(async (address) => {
      const response = await fetch(address, { cache: address === SHELL ? "reload" : "default", redirect: "error", credentials: "omit" });
      if (!response.ok) throw new Error(`${address}: ${response.status}`);
      await cache.put(address, response);
    }),
  );
}

async function whole() {
  const cache = await caches.open(CACHE);
  const page = await (await cache.match(SHELL)).text();
  if (!page.includes(`/app/${VERSION}/`)) throw new Error("the page is of another version");
}

self.addEventListener("install", (event) => {
  event.waitUntil(fill().then(whole)); // and then waits until the page says so
});

self.addEventListener("activate", (event) => {
  event.waitUntil(
    (async () => {
      for (const name of await caches.keys()) if (name.startsWith("tablet-") && name !== CACHE) await caches.delete(name);
      await self.clients.claim();
    })(),
  );
});

self.addEventListener("message", (event) => {
  if (event.data === "take over") self.skipWaiting();
});

async function kept(request, address) {
  const cache = await caches.open(CACHE);
  return (await cache.match(address)) ?? fetch(request);
}

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== location.origin) return;
  if (request.mode === "navigate" && url.pathname === SHELL) event.respondWith(kept(request, SHELL));
  else if (url.pathname.startsWith(`/tablet/app/${VERSION}/`)) event.respondWith(kept(request, url.pathname));
});
