// Keeps one whole edition of the library on the reader's device, so that it can be read without a network. The press
// writes EDITION, PAGES (which hold the edition's mark) and FILES (which don't) before this.
//
// Everything comes out of the store of one edition, so that a page, its stylesheet and its formulas always belong
// together. A newer edition is stored beside the old one; it takes over only when it is whole and the reader asks for
// it or no page is open any more, and only then is the old one deleted. Whether there is a newer one is asked by the
// page, of the network and never of this store.
(() => {
  "use strict";
  const root = new URL("./", self.location.href);
  const address = path => new URL(path.split("/").map(encodeURIComponent).join("/"), root).href;
  // The space ends the path: no other site's folder on this host begins so.
  const MINE = "locknut " + root.pathname + " ";
  const STORE = MINE + EDITION;
  const ASKED = "locknut asked " + root.pathname;
  const pages = new Set(PAGES.map(address));
  const all = new Set([...pages, ...FILES.map(address)]);
  const AT_ONCE = 6;

  /** A file as the host has it now; a page of any other edition is refused. */
  async function fetchFile(href) {
    const answer = await fetch(href, { cache: "no-cache" });
    if (!answer.ok) throw new Error(href + " answers " + answer.status);
    // Some hosts answer with a page for what they don't have yet.
    const isPage = /^text\/html/i.test(answer.headers.get("content-type"));
    if (isPage && !href.endsWith(".html")) throw new Error(href + " is answered with a page");
    const body = await answer.blob();
    if (pages.has(href) && !(await body.text()).includes(EDITION)) {
      throw Object.assign(new Error(href + " is of another edition"), { name: "OtherEdition" });
    }
    // An answer that was redirected may not be shown for a page, so a new one is made of it.
    // A store refuses what varies with everything, and what is kept here varies with nothing.
    const headers = new Headers(answer.headers);
    ["content-encoding", "content-length", "vary"].forEach(name => headers.delete(name));
    return new Response(body, { headers: headers });
  }

  /** The same file in another store: one whose name holds digits of its content is the same in any edition. */
  async function findSame(stores, href) {
    if (!/\.[0-9a-f]{8,16}\.[0-9a-z]+$/.test(href)) return undefined;
    for (const store of stores) {
      const found = await store.match(href);
      if (found) return found;
    }
    return undefined;
  }

  /** What the site said when it was asked last, when, and the marks of editions met before that. */
  async function recall() {
    const found = await (await caches.open(ASKED)).match(address("edition.json"));
    return { older: [], ...(found && await found.json()) };
  }

  /** Notes that the host had this edition a moment ago, unless a page has asked since: it knows better. */
  async function noteEdition(before) {
    if ((await recall()).asked !== before.asked) return;
    const older = [...new Set([...before.older, before.edition])].filter(mark => mark && mark !== EDITION);
    const asked = JSON.stringify({ edition: EDITION, asked: new Date().toISOString(), older: older });
    await (await caches.open(ASKED)).put(address("edition.json"), new Response(asked));
  }

  /** Stores all files, going on where an earlier attempt was cut off; fails where one of them can't be had. */
  async function storeAll() {
    const before = await recall();
    const store = await caches.open(STORE);
    const there = new Set((await store.keys()).map(request => request.url));
    const names = (await caches.keys()).filter(name => name.startsWith(MINE) && name !== STORE);
    const others = await Promise.all(names.map(name => caches.open(name)));
    const wanted = [...all].filter(href => !there.has(href));
    let failed = null;
    const work = async () => {
      while (wanted.length > 0) {
        const href = wanted.pop();
        try {
          await store.put(href, await findSame(others, href) || await fetchFile(href));
        } catch (error) {
          // What can be had now need not be fetched the next time; of a host between two editions nothing is wanted,
          // and a full device can keep nothing.
          failed = error;
          if (["OtherEdition", "QuotaExceededError"].includes(error.name)) wanted.length = 0;
        }
      }
    };
    await Promise.all(Array.from({ length: AT_ONCE }, work));
    if (failed) throw failed;
    // Another edition that took over in the meantime may have deleted this store, and what was put into it is lost
    // without a word. Only one that is whole may wait.
    const whole = new Set((await (await caches.open(STORE)).keys()).map(request => request.url));
    if ([...all].some(href => !whole.has(href))) throw new Error("the store of " + EDITION + " is not whole");
    await noteEdition(before);
  }

  /** Deletes the other editions, but for one that is on its way: that one deletes this and older ones in its turn. */
  async function deleteOthers() {
    const coming = self.registration.installing || self.registration.waiting;
    const names = coming ? [] : await caches.keys();
    await Promise.all(names.filter(name => name.startsWith(MINE) && name !== STORE).map(name => caches.delete(name)));
    await self.clients.claim();
  }

  /** The file that stands for an address: hosts serve a folder's index, and some leave endings out. */
  function fileOf(url) {
    const href = root.origin + url.pathname;
    return [href, href + "index.html", href + ".html"].find(one => all.has(one));
  }

  async function answer(request, href) {
    const store = await caches.open(STORE);
    const found = href && await store.match(href);
    if (found) return found;
    try {
      return await fetch(request);
    } catch (error) {
      const missing = !href && request.mode === "navigate" && /(\/|\.html)$/.test(new URL(request.url).pathname);
      const page = missing && await store.match(address("404.html"));
      if (page) return new Response(await page.blob(), { status: 404, headers: { "content-type": "text/html; charset=utf-8" } });
      if (request.mode !== "navigate") return Response.error();
      const words = "This file is not kept on the device. It needs a network.\n";
      return new Response(words, { status: 503, headers: { "content-type": "text/plain; charset=utf-8" } });
    }
  }

  self.addEventListener("install", event => event.waitUntil(storeAll()));
  self.addEventListener("activate", event => event.waitUntil(deleteOthers()));
  self.addEventListener("message", event => { if (event.data === "take over") self.skipWaiting(); });
  self.addEventListener("fetch", event => {
    const url = new URL(event.request.url);
    const asks = url.href.startsWith(root.href) && event.request.method === "GET";
    if (!asks || url.href === address("edition.json")) return;
    event.respondWith(answer(event.request, fileOf(url)));
  });
})();
