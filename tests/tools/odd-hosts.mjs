// Hosts, devices and addresses that are not as one would wish: no worker that can be installed, pages in place of
// files, answers that vary with everything, a full device, places in addresses that are no text or the paper's. Part
// of hosted.mjs, which has the pressed editions and what is looked with.

import { textOf } from "./common.mjs";

const LONGEST = 60_000;

/** A reader of their own, and a page of theirs; `told` listens to its errors. */
async function reader({ browser, pageOf }, options = {}, told = true) {
  const context = await browser.newContext({ reducedMotion: "reduce", ...options });
  await context.addInitScript(keepOutcome);
  return { context, page: told ? await pageOf(context) : await context.newPage() };
}

/** Runs in each page before its own scripts: keeps what becomes of the worker that the page registers. One that fails
    at once is gone before anybody who asks for its state now and then has seen it, so it is followed by its events. */
function keepOutcome() {
  const { register } = ServiceWorkerContainer.prototype;
  window.outcome = new Promise((settle) => {
    ServiceWorkerContainer.prototype.register = async function (...asked) {
      try {
        const registration = await register.apply(this, asked);
        const worker = registration.installing ?? registration.waiting ?? registration.active;
        const follow = () => worker.state !== "installing" && settle(worker.state);
        if (!worker) settle("redundant");
        worker?.addEventListener("statechange", follow);
        if (worker) follow();
        return registration;
      } catch (error) {
        settle("redundant");
        throw error;
      }
    };
  });
}

/** What became of the worker of the page that is open: `redundant` where it could not be installed. */
const outcome = (page) => page.evaluate(() => window.outcome);

/** The edition that the site named when it was asked last, as the device keeps it. */
const record = (page, host) => page.evaluate(async (address) => {
  for (;;) {
    const kept = await caches.match(address);
    if (kept) return (await kept.json()).edition;
    await new Promise((done) => setTimeout(done, 50));
  }
}, `${host.base}edition.json`);

/** Where no worker could be installed, a page that comes from the network is not held to an older record. */
async function neverFalselyNewer(tools, host, [first, second]) {
  const { PAGE, SECOND, editionOf, same, waitFor, words } = tools;
  const { context, page } = await reader(tools);
  host.folder = first;
  host.fails = (name) => name === "404.html";
  await page.goto(`${host.base}${PAGE}.html`);
  same("what is kept of the asking", await record(page, host), editionOf(first));
  host.folder = second;
  host.fails = (name) => ["404.html", "edition.json"].includes(name);
  await page.goto(`${host.base}${PAGE}.html?second`);
  await waitFor(page, "that nobody was asked", () => document.querySelector(".unchecked"));
  same("the page of the second edition", await words(page, "h1"), SECOND);
  same("what it claims of the first", await page.locator(".newer").count(), 0);
  host.fails = () => false;
  await context.close();
}

/** A host that answers with a page for a stylesheet which isn't there yet; afterwards it is there. */
async function pageForAStylesheet(tools, host, [first]) {
  const { PAGE, same, seen, settled, so } = tools;
  const { context, page } = await reader(tools, {}, false);
  host.folder = first;
  host.says = (name) => (/^theme\/sheet\..*\.css$/.test(name) ? ["text/html; charset=utf-8", "<p>soon</p>"] : undefined);
  await page.goto(`${host.base}${PAGE}.html`);
  same("a worker with a page for a stylesheet", await outcome(page), "redundant");
  host.says = () => undefined;
  await page.goto(`${host.base}index.html`);
  await settled(page);
  await page.goto(`${host.base}${PAGE}.html`);
  so("the stylesheet is had when it is there", (await seen(page)).sheets);
  await context.close();
}

/** Headers that a store refuses. */
async function variesWithEverything(tools, host, [first]) {
  const { AT, PAGE, editionOf, filledOf, kept, pages, same, settled } = tools;
  const { context, page } = await reader(tools);
  host.folder = first;
  host.headers = { vary: "*" };
  await page.goto(`${host.base}${PAGE}.html`);
  await settled(page);
  same("the store of what varies", await filledOf(page), `locknut ${AT} ${editionOf(first)} ${pages.length + kept.length}`);
  host.headers = {};
  await context.close();
}

/** A device without room: the library isn't fetched at each visit. */
async function fullDevice(tools, host, [first]) {
  const { PAGE, kept, lines, pages, same, so } = tools;
  const { context, page } = await reader(tools);
  host.folder = first;
  const protocol = await context.newCDPSession(page);
  await protocol.send("Storage.overrideQuotaForOrigin", { origin: new URL(host.base).origin, quotaSize: 300_000 });
  const asked = [];
  for (const visit of ["one", "two", "three"]) {
    host.asked = [];
    await page.goto(`${host.base}${PAGE}.html?${visit}`);
    same("a worker on a full device", await outcome(page), "redundant");
    await page.waitForTimeout(500);
    asked.push(host.asked.length);
  }
  so("a full device asks for little", asked.slice(1).every((many) => many < pages.length / 2), `${asked.join(", ")} addresses asked for`);
  lines.push(`a full device: ${asked.join(", ")} addresses asked for at its visits, of ${pages.length + kept.length}`);
  await context.close();
}

/** Places in addresses: one that is no text, and the paper's at a former address, with script and without. */
async function placesInAddresses(tools, host, [first, second]) {
  const { FORMER, PAGE, same, settled, waitFor } = tools;
  const one = await reader(tools);
  host.folder = first;
  await one.page.goto(`${host.base}${PAGE}.html#50%`);
  await settled(one.page);
  await one.context.close();
  host.folder = second;
  const sheet = textOf(second, `${PAGE}.html`).match(/data-sheet="([^"]*)"/)[1];
  const two = await reader(tools);
  await two.page.goto(`${host.base}${FORMER}.html#${sheet}-0`, { waitUntil: "commit" });
  await waitFor(two.page, "what the paper at a former address is", () => document.querySelector(".of-paper")?.innerText.startsWith("Your paper is revision 0."));
  same("the address it leads to", two.page.url(), `${host.base}${PAGE}.html#${sheet}-0`);
  await two.context.close();
  const three = await reader(tools, { javaScriptEnabled: false });
  await three.page.goto(`${host.base}${FORMER}.html`, { waitUntil: "commit" });
  await three.page.waitForURL(`${host.base}${PAGE}.html`, { timeout: LONGEST });
  await three.context.close();
}

/** Looks at all of it; `tools` has what hosted.mjs looks with. */
export async function oddHosts(tools, host, editions) {
  for (const look of [neverFalselyNewer, pageForAStylesheet, variesWithEverything, fullDevice, placesInAddresses]) {
    const limit = new Promise((_, fail) => setTimeout(fail, LONGEST, new Error(`${look.name}: not done in ${LONGEST} ms`)).unref());
    await Promise.race([look(tools, host, editions), limit]).catch((error) => tools.found.push(`${look.name}: ${error.message}`));
    Object.assign(host, { says: () => undefined, fails: () => false, headers: {} });
  }
}
