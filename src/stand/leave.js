// Takes the place of a service worker that a pressed site left at this address: forgets what that kept, takes itself
// away, and loads the pages that are open again.
self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", event => event.waitUntil((async () => {
  const names = await caches.keys();
  await Promise.all(names.filter(name => name.startsWith("locknut ")).map(name => caches.delete(name)));
  await self.registration.unregister();
  (await self.clients.matchAll({ type: "window" })).forEach(page => page.navigate(page.url));
})()));
