// Keeps the page itself at hand when the connection to the computer is lost. Answers of the
// program (/api/) are never kept: an old map must not pass for a new one.
const EDITION = "moisturemap-337607aa185d";
const PAGE = ["/", "/app.js", "/style.css", "/icon.svg", "/manifest.webmanifest"];

self.addEventListener("install", (event) => {
  event.waitUntil(
    caches
      .open(EDITION)
      .then((kept) => kept.addAll(PAGE))
      .then(() => self.skipWaiting()),
  );
});

self.addEventListener("activate", (event) => {
  event.waitUntil(
    caches
      .keys()
      .then((names) =>
        Promise.all(names.filter((name) => name !== EDITION).map((name) => caches.delete(name))),
      )
      .then(() => self.clients.claim()),
  );
});

self.addEventListener("fetch", (event) => {
  const address = new URL(event.request.url);
  if (event.request.method !== "GET" || address.origin !== location.origin) return;
  const path = event.request.mode === "navigate" ? "/" : address.pathname;
  if (!PAGE.includes(path) || address.search) return;
  event.respondWith(fetch(event.request).catch(() => caches.match(path)));
});
