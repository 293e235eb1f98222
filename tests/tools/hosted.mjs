// A pressed site on a host, in a real browser: one visit, then no network at all, and every page opens with its style
// and its script; then newer editions, whole, cut off half-way and mixed up, and what the old sheet says of them. Also
// what others read of a hosted site: the manifest, the list of addresses, the pictures of links.
//
//   node tests/tools/hosted.mjs SITE_DIR PROGRAM

import { spawnSync } from "node:child_process";
import { cpSync, existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import path from "node:path";
import { filesOf, isRedirect, launchChromium, requirePinned, textOf } from "./common.mjs";
import { Host } from "./host.mjs";
import { oddHosts } from "./odd-hosts.mjs";

const [site, program] = process.argv.slice(2);
if (!program) {
  console.error("usage: node hosted.mjs SITE_DIR PROGRAM");
  process.exit(2);
}
const AT = "/guides/";
const PAGE = "guides/drivetrain/chain-after-chainring";
const FORMER = "guides/drivetrain/longer-chain";
const LONGEST = 60_000;
const MOST_SCRIPT = 5_000;
const found = [];
const lines = [];
let looked = 0;

/** Notes what isn't so. */
function so(what, holds, detail = "") {
  looked += 1;
  if (!holds) found.push(detail ? `${what}: ${detail}` : what);
}
const same = (what, is, wanted) => so(what, is === wanted, `${JSON.stringify(is)}, not ${JSON.stringify(wanted)}`);

// Sheets in one file each are not kept on a device.
const pagesOf = (folder) => filesOf(folder, [".html"]).filter((name) => !name.startsWith("editions/"));
const pages = pagesOf(site);
const whole = pages.filter((name) => !isRedirect(textOf(site, name)));
const editionOf = (folder) => JSON.parse(textOf(folder, "edition.json")).edition;
const kept = JSON.parse(textOf(site, "service-worker.js").match(/FILES=(\[.*?\]);/)[1]);

// ---- what others read ------------------------------------------------------------------------------------------

/** Width and height of a PNG, from its head. */
function sizeOf(file) {
  const bytes = readFileSync(file);
  so(`${file} is a PNG`, bytes.subarray(1, 4).toString() === "PNG");
  return `${bytes.readUInt32BE(16)}x${bytes.readUInt32BE(20)}`;
}

function checkManifest() {
  const manifest = JSON.parse(textOf(site, "library.webmanifest"));
  for (const field of ["id", "name", "short_name", "lang", "start_url", "scope", "display", "background_color", "theme_color"]) {
    so(`the manifest's ${field}`, typeof manifest[field] === "string" && manifest[field] !== "", JSON.stringify(manifest[field]));
  }
  so("the manifest's display", ["minimal-ui", "standalone"].includes(manifest.display), manifest.display);
  so("the manifest's colours", [manifest.background_color, manifest.theme_color].every((colour) => /^#[0-9a-f]{6}$/i.test(colour)));
  so("where it starts", existsSync(path.join(site, manifest.start_url)), manifest.start_url);
  for (const icon of manifest.icons) same(`the size of ${icon.src}`, sizeOf(path.join(site, icon.src)), icon.sizes);
  const signs = manifest.icons.map(({ sizes, purpose }) => `${sizes} ${purpose}`).join(", ");
  same("the signs", signs, "192x192 any, 512x512 any, 512x512 maskable");
  lines.push(`manifest: ${Object.keys(manifest).length} fields, ${manifest.icons.length} signs`);
}

/** The page's own address and the picture for links to it, as its head says. */
function headOf(name) {
  const text = textOf(site, name);
  const unescaped = (value) => value?.replaceAll("&amp;", "&");
  const property = (wanted) => unescaped(text.match(new RegExp(`<meta property="${wanted}" content="([^"]*)"`))?.[1]);
  return { address: unescaped(text.match(/<link rel="canonical" href="([^"]*)"/)?.[1]), property };
}

async function checkAddresses(browser) {
  const page = await browser.newPage();
  const xml = textOf(site, "sitemap.xml");
  const read = await page.evaluate((text) => {
    const parsed = new DOMParser().parseFromString(text, "application/xml");
    const root = parsed.documentElement;
    const entry = (url) => Object.fromEntries([...url.children].map((child) => [child.localName, child.textContent]));
    return { root: `${root.namespaceURI} ${root.localName}`, entries: [...root.children].map((url) => ({ tag: url.localName, ...entry(url) })) };
  }, xml);
  await page.close();
  same("the list's root", read.root, "http://www.sitemaps.org/schemas/sitemap/0.9 urlset");
  so("the list's length", read.entries.length > 0 && read.entries.length <= 50_000, String(read.entries.length));
  so("the list's weight", Buffer.byteLength(xml) <= 52_428_800);
  for (const entry of read.entries) {
    so("an entry's form", entry.tag === "url" && Object.keys(entry).every((key) => ["tag", "loc", "lastmod"].includes(key)), JSON.stringify(entry));
    so("an entry's date", /^\d{4}-\d\d-\d\d$/.test(entry.lastmod) && !Number.isNaN(Date.parse(entry.lastmod)), entry.lastmod);
    so("an entry's length", entry.loc.length < 2048);
  }
  const listed = read.entries.map(({ loc }) => loc);
  same("each address once", new Set(listed).size, listed.length);
  const wanted = whole.filter((name) => name !== "404.html");
  same("every page's own address, and no other", listed.toSorted().join("\n"), wanted.map((name) => headOf(name).address).toSorted().join("\n"));
  let previews = 0;
  for (const name of wanted) {
    const { address, property } = headOf(name);
    const root = address.slice(0, address.length - (name === "index.html" ? 0 : name.length));
    for (const kind of ["og:title", "og:description", "og:site_name"]) so(`${name}: ${kind}`, property(kind));
    same(`${name}: og:url`, property("og:url"), address);
    const image = property("og:image");
    if (!/^(guides|replies)\//.test(name)) continue;
    so(`${name}: og:image stands below the site's address`, image?.startsWith(root), image);
    same(`${name}: the size of its picture`, sizeOf(path.join(site, image.slice(root.length))), `${property("og:image:width")}x${property("og:image:height")}`);
    same(`${name}: that size`, property("og:image:width") + property("og:image:height"), "1200630");
    previews += 1;
  }
  lines.push(`addresses: ${listed.length} listed, ${previews} pictures of links`);
}

// ---- without a network -------------------------------------------------------------------------------------------

/** A page of the browser that tells of errors; that the network isn't there is none, nor that an address never was. A text
    has no icon, so the browser asks for one by itself. */
async function pageOf(context) {
  const page = await context.newPage();
  page.on("pageerror", (error) => found.push(`${page.url()}: ${error.message}`));
  page.on("console", (message) => {
    const ofNetwork = message.text().startsWith("Failed to load resource") && /\/(edition\.json|service-worker\.js|favicon\.ico)$/.test(message.location().url);
    const ofPage = /status of (404|503)/.test(message.text()) && message.location().url === page.url();
    if (message.type() === "error" && !ofNetwork && !ofPage) found.push(`${page.url()}: console: ${message.text()} ${message.location().url}`);
  });
  return page;
}

/** Waits inside the page until a service worker holds the whole site, and gives the stores' names. */
const settled = async (page) =>
  page.evaluate(async () => {
    await navigator.serviceWorker.ready;
    return (await caches.keys()).sort();
  });

/** What a page without a network shows of itself. */
async function seen(page) {
  return page.evaluate(async () => {
    for (const image of document.images) image.loading = "eager";
    const pictures = await Promise.all([...document.images].map((image) => image.decode().then(() => true, () => false)));
    await document.fonts.ready;
    const frame = document.querySelector(".frame");
    return {
      styled: getComputedStyle(frame).borderTopStyle === "solid",
      sheets: [...document.styleSheets].every((sheet) => sheet.cssRules.length > 0),
      faces: [...document.fonts].filter((face) => face.status === "error").length,
      pictures: pictures.filter((good) => !good).length,
      forms: document.querySelectorAll(".own-numbers form").length,
      workings: document.querySelectorAll(".own-numbers").length,
      script: document.querySelectorAll("script[data-edition]").length,
    };
  });
}

async function readEverything(page, host) {
  let forms = 0;
  for (const name of pages) {
    const redirect = isRedirect(textOf(site, name));
    const response = await page.goto(host.base + name.split("/").map(encodeURIComponent).join("/"), { waitUntil: redirect ? "commit" : "load" });
    if (redirect) {
      await page.waitForURL((url) => url.pathname !== `${AT}${name}`, { timeout: LONGEST });
      so(`${name} leads on without a network`, (await page.locator("h1").count()) === 1);
      continue;
    }
    same(`${name} opens without a network`, response.status(), 200);
    so(`${name} comes from the device`, response.fromServiceWorker());
    const shown = await seen(page);
    so(`${name} has its style`, shown.styled && shown.sheets);
    same(`${name}: faces that failed`, shown.faces, 0);
    same(`${name}: photos that failed`, shown.pictures, 0);
    same(`${name}: forms for the workings`, shown.forms, shown.workings);
    if (name !== "404.html") {
      same(`${name}: the script of editions`, shown.script, 1);
      await page.waitForFunction(() => document.querySelector(".unchecked"), null, { timeout: LONGEST });
      same(`${name}: no newer edition is claimed`, await page.locator(".newer").count(), 0);
    }
    forms += shown.forms;
  }
  lines.push(`without a network: ${pages.length} pages opened, ${forms} forms ready`);
}

/** Addresses of other kinds without a network. */
async function oddAddresses(page, host) {
  const at = async (address) => {
    const response = await page.goto(host.base + address);
    return `${response.status()} ${(await page.locator("h1, pre").first().innerText()).slice(0, 30)}`;
  };
  same("the folder", await at(""), `200 ${await titleOf("index.html")}`);
  same("an address without its ending", await at(PAGE), `200 ${await titleOf(`${PAGE}.html`)}`);
  same("one with a question and a place", await at(`${PAGE}.html?from=paper#op-10`), `200 ${await titleOf(`${PAGE}.html`)}`);
  same("a page that never was", await at("guides/brakes/never-was.html"), "404 No sheet at this address");
  const drawing = filesOf(site, [".png"]).find((name) => name.startsWith("drawings/"));
  same("a drawing as a picture", await at(drawing), "503 This file is not kept on the d");
  async function titleOf(name) {
    return textOf(site, name).match(/<h1>([\s\S]*?)<\/h1>/)[1].replace(/<[^>]+>/g, "").slice(0, 30);
  }
}

// ---- newer editions ----------------------------------------------------------------------------------------------

const SECOND = "A second edition reaches the reader";
const THIRD = "The third comes in pieces";
const FOURTH = "The fourth is mixed up";
const folders = [];
const scratch = () => {
  folders.push(mkdtempSync(path.join(tmpdir(), "locknut-hosted-")));
  return folders.at(-1);
};

/** The library pressed again with another title and a former address for one guide. */
function pressed(title) {
  const library = scratch();
  const laid = spawnSync(program, ["fit-out", library], { encoding: "utf8" });
  if (laid.status !== 0) throw new Error(laid.stderr);
  const file = path.join(library, "content", `${PAGE}.md`);
  writeFileSync(file, readFileSync(file, "utf8").replace(/^title: .*$/m, `title: ${title}\nformerly: [${FORMER}]`));
  const into = path.join(scratch(), "site");
  const done = spawnSync(program, ["press", "--library", library, "--into", into], { encoding: "utf8" });
  if (done.status !== 0) throw new Error(done.stderr);
  return into;
}

const words = (page, selector) => page.locator(selector).first().innerText();
const waitFor = (page, what, test, value) =>
  page.waitForFunction(test, value, { timeout: LONGEST }).then(() => (looked += 1), () => found.push(`never seen: ${what}`));
const storesOf = (page) => page.evaluate(async () => (await caches.keys()).filter((name) => !name.startsWith("locknut asked")).sort().join("; "));

/** The line in all views: what axe-core finds, and whether it makes the page wider than a phone. */
async function canBeUsed(page) {
  await page.evaluate(readFileSync(requirePinned.resolve("axe-core/axe.min.js"), "utf8"));
  for (const colorScheme of ["light", "dark"]) {
    for (const width of [320, 1280]) {
      await page.setViewportSize({ width, height: 800 });
      await page.emulateMedia({ colorScheme, reducedMotion: "reduce" });
      const { wrong, wide } = await page.evaluate(async () => {
        const { violations } = await axe.run(".strip", { resultTypes: ["violations"], preload: false });
        return { wrong: violations.map(({ id }) => id).join(" "), wide: document.documentElement.scrollWidth > document.documentElement.clientWidth };
      });
      same(`the line at ${width} px, ${colorScheme}`, wrong, "");
      so(`the line at ${width} px fits`, !wide);
    }
  }
  if (process.env.LOCKNUT_PICTURES) await page.screenshot({ path: path.join(process.env.LOCKNUT_PICTURES, "newer.png") });
}

async function newerEditions(context, host, [first, second, third, fourth]) {
  const page = await pageOf(context);
  const [a, b, c, d] = [first, second, third, fourth].map(editionOf);
  const title = textOf(first, `${PAGE}.html`).match(/<h1>([\s\S]*?)<\/h1>/)[1];

  // A whole one.
  host.folder = second;
  await page.goto(`${host.base}${PAGE}.html`);
  await waitFor(page, "the line of a newer edition", (mark) => document.querySelector(".newer")?.innerText.includes(mark), b);
  const line = await words(page, ".newer");
  same("the line", line.replace(/\s+/g, " "), `A newer edition of this library is known (${b}). This sheet is of ${a}. Load the newer one`);
  same("the old sheet's title", await words(page, "h1"), title);
  so("its own mark stands in its foot", (await words(page, ".edition")).includes(a));
  const sheet = await page.getAttribute('link[rel="stylesheet"]', "href");
  so("its stylesheet is of its own edition", textOf(first, `${PAGE}.html`).includes(`href="${sheet}"`));
  await canBeUsed(page);
  await page.getByRole("button", { name: "Load the newer one" }).click();
  await waitFor(page, "the second edition", (wanted) => document.querySelector("h1")?.innerText === wanted, SECOND);
  await waitFor(page, "no line any more", () => !document.querySelector(".newer"));
  so("the new mark stands in the foot", (await words(page, ".edition")).includes(b));
  same("the stores", await storesOf(page), `locknut ${AT} ${b}`);

  // One that the network cuts off half-way: the old one stays, and says so without a network too.
  host.folder = third;
  const half = new Set(pagesOf(third).filter((_, place) => place % 2 === 0 && place > 0));
  host.fails = (name) => half.has(name);
  await page.goto(`${host.base}${PAGE}.html`);
  await waitFor(page, "the line of the third edition", (mark) => document.querySelector(".newer")?.innerText.includes(mark), c);
  await page.getByRole("button", { name: "Load the newer one" }).click();
  await waitFor(page, "that it could not be fetched whole", () => document.querySelector(".newer")?.innerText.startsWith("The newer edition could not be fetched whole"));
  same("the title still", await words(page, "h1"), SECOND);
  so("the second edition's store is kept", (await storesOf(page)).includes(b));
  await host.stop();
  await context.setOffline(true);
  await page.goto(`${host.base}${PAGE}.html`);
  same("the title without a network", await words(page, "h1"), SECOND);
  await waitFor(page, "that a newer edition is known, without a network", (mark) => document.querySelector(".newer")?.innerText.includes(mark), c);
  await waitFor(page, "since when nobody was asked", () => /Not checked against the shop’s site since \d{4}-\d\d-\d\d\./.test(document.querySelector(".unchecked")?.innerText));
  await page.getByRole("button", { name: "Load the newer one" }).click();
  await waitFor(page, "that it can't be fetched without a network", () => document.querySelector(".newer")?.innerText.startsWith("The newer edition could not be fetched whole"));

  // The network is back: what was stored already is not asked for again.
  host.fails = () => false;
  await host.start();
  host.asked = [];
  await context.setOffline(false);
  await page.goto(`${host.base}${PAGE}.html`);
  await page.getByRole("button", { name: "Load the newer one" }).click();
  await waitFor(page, "the third edition", (wanted) => document.querySelector("h1")?.innerText === wanted, THIRD);
  same("the stores then", await storesOf(page), `locknut ${AT} ${c}`);
  const again = new Set(host.asked.filter((name) => name.endsWith(".html"))).size;
  so("only what was missing was fetched", again < pages.length * 0.8, `${again} of ${pages.length} pages`);

  // A host between two editions: the newer worker, the older pages. No store is made of both.
  host.folder = fourth;
  host.mixed = (name) => (name === `${PAGE}.html` ? third : undefined);
  await page.goto(`${host.base}${PAGE}.html`);
  await waitFor(page, "the line of the fourth edition", (mark) => document.querySelector(".newer")?.innerText.includes(mark), d);
  await page.getByRole("button", { name: "Load the newer one" }).click();
  await waitFor(page, "that a mixed edition is refused", () => document.querySelector(".newer")?.innerText.startsWith("The newer edition could not be fetched whole"));
  same("the title of one edition", await words(page, "h1"), THIRD);
  host.mixed = () => undefined;

  // Paper that is older than the sheet.
  const code = await page.evaluate(() => ({ ...document.querySelector(".sheet-code").dataset }));
  await page.goto(`${host.base}index.html`);
  await page.goto(`${host.base}${PAGE}.html#${code.sheet}-0`);
  await waitFor(page, "that the paper is older", () => document.querySelector(".of-paper")?.innerText.startsWith("Your paper is revision 0."));
  await page.goto(`${host.base}index.html`);
  await page.goto(`${host.base}${PAGE}.html#${code.sheet}-${code.revision}`);
  same("nothing of paper of the same revision", await page.locator(".of-paper").count(), 0);
  await page.close();
  lines.push("editions: whole, cut off, resumed and mixed up, each as it should be");
}

// ---- two editions on the way ---------------------------------------------------------------------------------------

/** Waits until the site has a worker in that state, or none. */
const workersAre = (page, state) => page.evaluate(async (state) => {
  const [name, wanted] = [state.replace("not ", ""), !state.startsWith("not ")];
  const there = async () => Boolean((await navigator.serviceWorker.getRegistration())?.[name]) === wanted;
  while (!(await there())) await new Promise((done) => setTimeout(done, 50));
}, state);

/** A reader of the first edition for whom the second waits, just as the host gets the third and is slow. */
async function readerBetween(browser, host, [first, second, third]) {
  const context = await browser.newContext({ reducedMotion: "reduce" });
  const page = await pageOf(context);
  host.folder = first;
  await page.goto(`${host.base}${PAGE}.html`);
  await settled(page);
  host.folder = second;
  await page.evaluate(async () => (await navigator.serviceWorker.getRegistration()).update());
  await workersAre(page, "waiting");
  await page.evaluate(() => dispatchEvent(new Event("online")));
  await waitFor(page, "the line of the second edition", () => document.querySelector(".newer"));
  // A browser asks for a newer worker by itself soon after a page was opened; that is to be over.
  await page.waitForTimeout(3000);
  host.folder = third;
  host.takes = (name) => (name.endsWith(".html") ? 300 : 0);
  return { context, page };
}

/** The stores with how many files each has. */
const filledOf = (page) => page.evaluate(async () => {
  const names = (await caches.keys()).filter((name) => !name.startsWith("locknut asked")).sort();
  return (await Promise.all(names.map(async (name) => `${name} ${(await (await caches.open(name)).keys()).length}`))).join("; ");
});

/** The third edition takes over, whole: every page of it opens without a network. */
async function thirdIsWhole(context, page, host, third) {
  await waitFor(page, "the third edition, of three", (wanted) => document.querySelector("h1")?.innerText === wanted, THIRD);
  const wanted = JSON.parse(textOf(third, "service-worker.js").match(/PAGES=(\[.*?\]),FILES/)[1]).length;
  same("the one store, whole", await filledOf(page), `locknut ${AT} ${editionOf(third)} ${wanted + kept.length}`);
  await host.stop();
  await context.setOffline(true);
  const response = await page.goto(`${host.base}index.html`);
  same("the front page from that store", response.status(), 200);
  await context.close();
  await host.start();
  host.takes = () => 0;
}

async function twoOnTheWay(browser, host, editions) {
  // The reader asks for the newer one while the newest is being fetched.
  const one = await readerBetween(browser, host, editions);
  await one.page.getByRole("button", { name: "Load the newer one" }).click();
  await thirdIsWhole(one.context, one.page, host, editions[2]);
  // The one that waits takes over while the newest is being fetched, as when another page asked for it.
  const { context, page } = await readerBetween(browser, host, editions);
  await page.evaluate(async () => {
    const registration = await navigator.serviceWorker.getRegistration();
    registration.update();
    while (!registration.installing) await new Promise((done) => setTimeout(done, 10));
    registration.waiting.postMessage("take over");
  });
  await workersAre(page, "not installing");
  host.takes = () => 0;
  await page.goto(`${host.base}${PAGE}.html`);
  await waitFor(page, "the line of the third edition, of three", (mark) => document.querySelector(".newer")?.innerText.includes(mark), editionOf(editions[2]));
  same("what the second edition shows", await words(page, "h1"), SECOND);
  await page.getByRole("button", { name: "Load the newer one" }).click();
  await thirdIsWhole(context, page, host, editions[2]);
  lines.push("two editions on the way: the newest is loaded whole");
}

// ---- all of it ---------------------------------------------------------------------------------------------------

const script = filesOf(site, [".js"]).find((name) => name.startsWith("theme/edition."));
const weight = readFileSync(path.join(site, script)).length;
so("the script of editions is small", weight <= MOST_SCRIPT, `${weight} bytes`);
const browser = await launchChromium();
const first = path.join(scratch(), "site");
cpSync(site, first, { recursive: true });
const host = new Host(first, AT);
try {
  checkManifest();
  await checkAddresses(browser);
  await host.start();
  const context = await browser.newContext({ reducedMotion: "reduce" });
  const page = await pageOf(context);
  await page.goto(`${host.base}${PAGE}.html`, { waitUntil: "load" });
  same("the stores after one visit", (await settled(page)).join("; "), `locknut ${AT} ${editionOf(site)}; locknut asked ${AT}`);
  const protocol = await context.newCDPSession(page);
  const { errors } = await protocol.send("Page.getAppManifest");
  same("what the browser says of the manifest", JSON.stringify(errors), "[]");
  await protocol.detach();
  const missing = await page.goto(`${host.base}guides/brakes/never-was.html`);
  same("an address that never was", `${missing.status()} ${await words(page, "h1")}`, "404 No sheet at this address");
  await host.stop();
  await context.setOffline(true);
  await readEverything(page, host);
  await oddAddresses(page, host);
  await page.close();
  await context.setOffline(false);
  await host.start();
  const editions = [first, ...[SECOND, THIRD, FOURTH].map(pressed)];
  await newerEditions(context, host, editions);
  await context.close();
  await twoOnTheWay(browser, host, editions);
  const tools = { AT, FORMER, PAGE, SECOND, browser, editionOf, filledOf, found, kept, lines, pageOf, pages, same, seen, settled, so, waitFor, words };
  await oddHosts(tools, host, editions);
} catch (error) {
  found.push(error.stack ?? String(error));
} finally {
  await browser.close();
  await host.stop().catch(() => {});
  for (const folder of folders) rmSync(folder, { recursive: true, force: true });
}
for (const text of found) console.log(text);
console.log(lines.join("\n"));
console.log(`${looked} things looked at, ${kept.length} files kept besides pages, the script of editions ${weight} bytes; ${found.length === 0 ? "nothing found" : `${found.length} found`}`);
process.exitCode = found.length === 0 ? 0 : 1;
