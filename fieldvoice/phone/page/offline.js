// Keeps the page itself on the phone, so that it opens in the woods. What is said is not its affair.

const KEPT = 'page-VERSION', FILES = ['FILES'];

self.addEventListener('install', event => {
  event.waitUntil(caches.open(KEPT).then(kept => kept.addAll(FILES)).then(() => self.skipWaiting()));
});

self.addEventListener('activate', event => {
  event.waitUntil(caches.keys()
    .then(names => Promise.all(names.filter(name => name !== KEPT).map(name => caches.delete(name))))
    .then(() => self.clients.claim()));
});

self.addEventListener('fetch', event => {
  const path = new URL(event.request.url);
  if (event.request.method !== 'GET' || path.origin !== location.origin || !FILES.includes(path.pathname)) return;
  event.respondWith(caches.open(KEPT)
    .then(kept => kept.match(path.pathname))
    .then(found => found || fetch(event.request)));
});
