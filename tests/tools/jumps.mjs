// Opens pressed pages, the first of each folder and all of the root, as a first visitor on a slow line does: from a server
// that holds each typeface back, with nothing kept from before, on a phone's and a desk's width. While the faces come in,
// nothing on the page may move: Chromium's own measure of moved ground (cumulative layout shift) stays below one
// hundredth, where a page that people call steady is allowed ten. What moves below the screen is not counted, as nobody
// sees it.
//
//   node tests/tools/jumps.mjs SITE_DIR

import { existsSync, readFileSync, statSync } from "node:fs";
import http from "node:http";
import path from "node:path";
import { filesOf, inParallel, isProgram, isRedirect, joinViews, launchChromium, runAsProgram, textOf } from "./common.mjs";

const VIEWS = [{ width: 360, height: 740 }, { width: 1440, height: 900 }];
const HELD_BACK = 800;
const ALLOWED = 0.01;
const AT_ONCE = 6;

const KINDS = {
  ".html": "text/html; charset=utf-8", ".css": "text/css", ".js": "text/javascript", ".svg": "image/svg+xml",
  ".png": "image/png", ".webp": "image/webp", ".jpg": "image/jpeg", ".woff2": "font/woff2",
};

/** How many pages of a folder are opened: they are set by one template, and each takes seconds. */
const OF_A_FOLDER = 1;

/** Measures the first pages of each folder of the site in both views. */
export async function checkJumps(site) {
  const all = filesOf(site, [".html"]).filter((name) => !isRedirect(textOf(site, name)));
  const folder = (name) => path.dirname(name).split("/").slice(0, 2).join("/");
  const pages = all.filter((name) => all.filter((other) => folder(other) === folder(name)).indexOf(name) < OF_A_FOLDER || folder(name) === ".");
  const server = await serve(site);
  const browser = await launchChromium();
  const seen = { most: 0, faces: 0 };
  try {
    const views = pages.flatMap((name) => VIEWS.map((view) => ({ name, view })));
    const address = `http://127.0.0.1:${server.address().port}/`;
    const lists = await inParallel(views, AT_ONCE, (one) => measure(browser, address, one, seen));
    const most = `the most that one moved is ${seen.most.toFixed(4)} of ${ALLOWED}, ${seen.faces} late faces came in`;
    return { findings: joinViews(lists.flat()), looked: `${pages.length} of ${all.length} pages in ${VIEWS.length} views; ${most}` };
  } finally {
    await browser.close();
    server.close();
  }
}

/** A server of this folder alone, that lets a typeface wait and forbids to keep anything. */
function serve(site) {
  const server = http.createServer((request, answer) => {
    const name = decodeURIComponent(request.url.split(/[?#]/)[0]).slice(1);
    const file = path.join(site, name);
    const kind = KINDS[path.extname(file)];
    if (path.relative(site, file).startsWith("..") || !kind || !existsSync(file) || !statSync(file).isFile()) {
      answer.writeHead(404).end();
      return;
    }
    const send = () => answer.writeHead(200, { "content-type": kind, "cache-control": "no-store" }).end(readFileSync(file));
    if (kind === "font/woff2") setTimeout(send, HELD_BACK);
    else send();
  });
  return new Promise((done) => server.listen(0, "127.0.0.1", () => done(server)));
}

/** What moves on one page, in one view, until its faces have come in and been painted. */
async function measure(browser, address, { name, view }, seen) {
  const at = `${view.width} px`;
  const context = await browser.newContext({ viewport: view, serviceWorkers: "block" });
  try {
    const page = await context.newPage();
    await page.addInitScript(watch);
    await page.goto(address + name, { waitUntil: "load" });
    await page.evaluate(settle);
    const { moved, what, faces } = await page.evaluate(() => ({
      moved: window.moved, what: [...window.movers].slice(0, 4), faces: window.lateFaces,
    }));
    seen.most = Math.max(seen.most, moved);
    seen.faces += faces;
    if (moved < ALLOWED) return [];
    return [{ where: name, name: "jump", detail: `moved by ${moved.toFixed(4)}, ${ALLOWED} allowed: ${what.join(", ")}`, at }];
  } catch (error) {
    return [{ where: name, name: "not-checked", detail: error.message, at }];
  } finally {
    await context.close();
  }
}

/** Inside the page, from its start: adds up what moves. */
function watch() {
  window.moved = 0;
  window.movers = new Set();
  window.lateFaces = 0;
  document.fonts.addEventListener("loadingdone", (event) => {
    window.lateFaces += event.fontfaces.filter((face) => face.status === "loaded").length;
  });
  new PerformanceObserver((list) => {
    for (const entry of list.getEntries()) {
      window.moved += entry.value;
      for (const { node } of entry.sources) {
        const element = node?.nodeType === 1 ? node : node?.parentElement;
        if (element) window.movers.add(element.tagName.toLowerCase() + (element.classList[0] ? `.${element.classList[0]}` : ""));
      }
    }
  }).observe({ type: "layout-shift", buffered: true });
}

/** Waits, inside the page, for its first paint, its faces, and anything that a script does soon after. */
async function settle() {
  const painted = () => performance.getEntriesByType("paint").length > 0;
  for (let tries = 0; !painted() && tries < 100; tries++) await new Promise((done) => setTimeout(done, 50));
  await document.fonts.ready;
  await new Promise((done) => setTimeout(done, 400));
  await new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)));
}

if (isProgram(import.meta.url)) await runAsProgram(checkJumps);
