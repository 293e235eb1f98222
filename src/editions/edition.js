// On a page that a host serves: registers the service worker, asks the shop's site whether there is a newer edition of
// the library, and says so at the head of the sheet. What was learnt is kept, so that an old sheet says it without a
// network too; where nobody could be asked, the foot says since when. On a page from the disk it does nothing.
(() => {
  "use strict";
  const script = document.currentScript;
  // While somebody edits the library, its pages change with every save.
  if (!/^https?:$/.test(location.protocol) || document.querySelector("script[src^='/stand/']")) return;
  const mine = script.dataset.edition;
  const worker = new URL(script.dataset.worker, document.baseURI);
  const root = new URL("./", worker);
  const place = new URL("edition.json", root).href;
  const workers = navigator.serviceWorker;
  const LONGEST_MS = 10000;
  let asking = false;

  function make(name, words, kind) {
    const element = document.createElement(name);
    element.textContent = words;
    if (kind) element.className = kind;
    return element;
  }
  // A link in the markup would be fetched, and refused, from the disk as well.
  const manifest = make("link", "");
  manifest.rel = "manifest";
  manifest.href = new URL("library.webmanifest", root).href;
  document.head.appendChild(manifest);

  // What the site said when it was asked last, when, and the marks of editions met before that: shared by all pages
  // and the service worker.
  const kept = async () => caches.open("locknut asked " + root.pathname);
  async function recall() {
    const none = { older: [] };
    try { return Object.assign(none, await (await (await kept()).match(place)).json()); } catch (error) { return none; }
  }
  async function ask(before) {
    try {
      const signal = AbortSignal.timeout ? AbortSignal.timeout(LONGEST_MS) : undefined;
      const answer = await fetch(place, { cache: "no-store", signal: signal });
      const told = await answer.json();
      if (!answer.ok || typeof told.edition !== "string") return null;
      const older = [...new Set([...before.older, before.edition, mine])].filter(mark => mark && mark !== told.edition);
      const asked = JSON.stringify({ edition: told.edition, asked: new Date().toISOString(), older: older });
      try { await (await kept()).put(place, new Response(asked)); } catch (error) { /* A device may keep nothing. */ }
      return told.edition;
    } catch (error) {
      return null;
    }
  }

  /** A line at the head of the sheet; one of each kind, none where there is nothing to say. */
  function tell(kind, words, act) {
    const head = document.querySelector(".strip") || document.body;
    const old = head.querySelector("." + kind);
    if (old) old.remove();
    if (!words) return;
    const line = make("p", words + " ", "newer " + kind);
    line.setAttribute("role", "status");
    if (act) {
      const button = make("button", act[0]);
      button.type = "button";
      button.addEventListener("click", () => { button.disabled = true; act[1](line); });
      line.appendChild(button);
    }
    head.insertBefore(line, head.firstChild);
  }
  function compare(edition) {
    const newer = edition && edition !== mine;
    tell("of-edition", newer && "A newer edition of this library is known (" + edition + "). This sheet is of " + mine + ".", ["Load the newer one", load]);
  }
  function unchecked(before) {
    const foot = document.querySelector(".order") || document.body;
    const old = foot.querySelector(".unchecked");
    if (old) old.remove();
    if (!before) return;
    const since = before.asked ? " since " + before.asked.slice(0, 10) : "";
    foot.appendChild(make("p", "Not checked against the shop’s site" + since + ".", "faint unchecked"));
  }

  async function check() {
    if (asking) return;
    asking = true;
    const before = await recall();
    // What is kept may be older than this page: it counts only where it was met after this page's edition.
    if (before.older.includes(mine)) compare(before.edition);
    const now = await ask(before);
    if (now) compare(now);
    unchecked(!now && before);
    asking = false;
  }

  /** Lets the newer edition take over once it is whole, then shows this sheet in it. */
  async function load(line) {
    const registration = workers && await workers.getRegistration(root.href);
    if (!registration) return location.reload();
    const failed = () => {
      line.textContent = "The newer edition could not be fetched whole. This sheet is still of " + mine + ".";
    };
    // Without a network, one that is whole already can still be had.
    try { await registration.update(); } catch (error) { if (!registration.waiting) return failed(); }
    // Where one waits and another is on its way, the reader wants the newest.
    const next = registration.installing || registration.waiting;
    if (!next) return location.reload();
    line.lastChild.textContent = "Loading";
    workers.addEventListener("controllerchange", () => location.reload(), { once: true });
    const settle = () => {
      if (next.state === "installed") next.postMessage("take over");
      if (next.state === "redundant") failed();
    };
    next.addEventListener("statechange", settle);
    settle();
  }

  /** The code on paper says which revision the paper holds. */
  const code = document.querySelector(".sheet-code");
  let paper = "";
  try { paper = code && decodeURIComponent(location.hash.slice(1)); } catch (error) { /* Not written by us. */ }
  const number = code && code.dataset.sheet + "-";
  if (paper && paper.startsWith(number) && paper !== number + code.dataset.revision) {
    tell("of-paper", "Your paper is revision " + paper.slice(number.length) + ". This sheet is revision " + code.dataset.revision + ".");
  }

  if (workers) {
    addEventListener("load", () => workers.register(worker).catch(() => { /* The sheet reads the same. */ }));
    // Another page may have loaded a newer edition.
    workers.addEventListener("controllerchange", check);
  }
  // A sheet can stay open for weeks.
  addEventListener("online", check);
  addEventListener("pageshow", event => { if (event.persisted) check(); });
  document.addEventListener("visibilitychange", () => { if (!document.hidden) check(); });
  check();
})();
