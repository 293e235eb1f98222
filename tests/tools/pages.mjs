// Opens every pressed page as a reader's device would, straight from the folder, on a phone's and a desk's
// width, on light and on dark paper, and says what goes wrong there: errors in the console, requests that leave
// the folder, files that don't load, a page wider than the screen, dark paper that isn't dark, and all that
// axe-core knows about pages which some people can't use (on dark paper all that it knows about colours). Every `details`
// is opened before axe looks. It doesn't follow links (links.mjs), print (print.mjs) or check the markup (markup.mjs).
//
// axe looks at every page once by day, at one width and then the other by turns. In all four views it looks at pages that
// hold an element with a class, or a role, that no page before them has: all pages share one stylesheet, and what differs
// between two views of the same elements is the stylesheet's.
//
//   node tests/tools/pages.mjs SITE_DIR

import { readFileSync } from "node:fs";
import path from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";
import {
  filesOf, inPages, isProgram, isRedirect, joinViews, launchChromium, requirePinned, runAsProgram, textOf,
} from "./common.mjs";

const WIDTHS = [360, 1280];
const PAPERS = ["light", "dark"];
const VIEWS = WIDTHS.flatMap((width) => PAPERS.map((paper) => ({ width, paper, at: `${width} px ${paper}` })));
const AT_ONCE = 3;
const OF_SINGLES = 3;

// axe rules that aren't run, each with its reason. Every other rule of the pinned version is, best practice included.
const LEFT_OUT = {
  "color-contrast-enhanced": "level AAA; the sheet answers to AA, which color-contrast holds it to",
  "css-orientation-lock": "reads stylesheets by a request of its own, which a page opened from a disk may not make",
};

/** Checks every .html page of the site; with `everyView`, axe looks at all of them in all four views. */
export async function checkPages(site, { everyView = false } = {}) {
  const all = filesOf(site, [".html"]);
  // A single sheet says the same as its page of the site, in one file: a few of them tell what that changes.
  const singles = all.filter((name) => name.startsWith("editions/"));
  const pages = all.filter((name) => singles.indexOf(name) < OF_SINGLES);
  const browser = await launchChromium();
  try {
    const context = await browser.newContext({ reducedMotion: "reduce", serviceWorkers: "block" });
    const forAxe = everyView ? pages.map(() => VIEWS) : viewsForAxe(site, pages);
    const work = (tab, name, place) => checkPage(tab, site, name, forAxe[place]);
    const lists = await inPages(pages, AT_ONCE, () => newTab(context, site), work);
    const whole = forAxe.filter((views) => views === VIEWS).length;
    const looked = `${pages.length} of ${all.length} pages in ${VIEWS.length} views, axe at ${whole} of them in every view`;
    return { findings: joinViews(lists.flat()), looked };
  } finally {
    await browser.close();
  }
}

/** The views in which axe looks at each page: all of them where the page has something new, one by day elsewhere. */
function viewsForAxe(site, pages) {
  const seen = new Set();
  const byDay = VIEWS.filter(({ paper }) => paper === "light");
  return pages.map((name, place) => {
    const tags = textOf(site, name).match(/<[a-z][a-z0-9-]*[^>]*>/gi) ?? [];
    const kinds = tags.flatMap((tag) => {
      const element = tag.match(/^<([a-z0-9-]+)/i)[1];
      const classes = tag.match(/\sclass="([^"]*)"/)?.[1].split(/\s+/).sort().join(" ") ?? "";
      return [`${element} ${classes}`, `${element} ${tag.match(/\srole="([^"]*)"/)?.[1] ?? ""}`];
    });
    const fresh = kinds.filter((kind) => !seen.has(kind));
    fresh.forEach((kind) => seen.add(kind));
    return fresh.length > 0 ? VIEWS : [byDay[place % byDay.length]];
  });
}

/** A page of the browser, and what listens to it for the file that it shows. */
async function newTab(context, site) {
  const tab = { page: await context.newPage(), address: "", say: () => {} };
  await guardRequests(tab, site);
  tab.page.on("pageerror", (error) => tab.say("page-error", error.message));
  tab.page.on("console", (message) => listenToConsole(message, (...told) => tab.say(...told)));
  return tab;
}

/**
 * Everything that is wrong with one page. It is loaded once, as on a phone by day, and then turned through the
 * other views, as when a phone is laid on its side or evening comes; what happens between has no view's name.
 */
async function checkPage(tab, site, name, forAxe) {
  const findings = [];
  const say = (fault, detail, at) => findings.push({ where: name, name: fault, detail, at });
  const { page } = tab;
  try {
    tab.address = pathToFileURL(path.join(site, name)).href;
    tab.say = say;
    await show(page, VIEWS[0]);
    await page.goto(tab.address, { waitUntil: "load" });
    await page.evaluate(axeSource());
    const redirect = isRedirect(textOf(site, name));
    for (const view of VIEWS) {
      await checkView(page, view, { redirect, axe: forAxe.includes(view) }, (fault, detail) => say(fault, detail, view.at));
    }
  } catch (error) {
    say("not-checked", error.message);
  }
  return findings;
}

async function show(page, { width, paper }) {
  await page.setViewportSize({ width, height: 800 });
  await page.emulateMedia({ colorScheme: paper, reducedMotion: "reduce" });
}

/** What is wrong in one view, with the workings shut as the page has them and then with every one open. */
async function checkView(page, view, { redirect, axe }, say) {
  await show(page, view);
  await page.evaluate(settle);
  const fits = await checkWidth(page, say, "");
  if (!redirect) await checkPaper(page, view, say);
  await page.evaluate(openEveryWorking);
  if (fits) await checkWidth(page, say, " with every working open");
  if (axe) await checkWithAxe(page, view, say);
  await page.evaluate(shutAgain);
}

/** Stops and reports whatever would leave the site's folder; keeps a redirect page from leaving itself. */
async function guardRequests(tab, site) {
  const { page } = tab;
  const say = (...told) => tab.say(...told);
  await page.route("**/*", (route) => {
    const request = route.request();
    const url = request.url();
    if (request.isNavigationRequest() && request.frame() === page.mainFrame() && url.split("#")[0] !== tab.address) {
      return route.abort("aborted");
    }
    if (url.startsWith("data:")) return route.continue();
    if (!url.startsWith("file:")) {
      say("network-request", url);
      return route.abort();
    }
    const file = fileURLToPath(url.split(/[?#]/)[0]);
    if (path.relative(site, file).startsWith("..")) say("outside-site", url);
    return route.continue();
  });
  page.on("requestfailed", (request) => {
    const url = request.url();
    if (url.startsWith("file:") && !request.isNavigationRequest()) {
      say("missing-file", path.relative(site, fileURLToPath(url.split(/[?#]/)[0])));
    }
  });
}

/** Console errors count; that a file didn't load is reported by name elsewhere. */
function listenToConsole(message, say) {
  const text = message.text();
  if (message.type() === "error" && !text.startsWith("Failed to load resource")) say("console-error", text);
}

/** Waits, inside the page, until typefaces and two frames are done and nothing is changing colour any more. */
async function settle() {
  await document.fonts.ready;
  for (const motion of document.getAnimations()) {
    if (motion.effect?.getComputedTiming().endTime === Infinity) motion.cancel();
    else motion.finish();
  }
  await new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)));
}

/** Opens, inside the page, every `details`; the next one shuts those again that the page had shut. */
function openEveryWorking() {
  for (const details of document.querySelectorAll("details:not([open])")) {
    details.open = true;
    details.dataset.openedByTest = "";
  }
}

function shutAgain() {
  for (const details of document.querySelectorAll("details[data-opened-by-test]")) {
    details.open = false;
    delete details.dataset.openedByTest;
  }
}

/** The document may not be wider than the screen, and must have told a phone to use the screen's own width: is it so? */
async function checkWidth(page, say, when) {
  const seen = await page.evaluate(() => {
    const root = document.documentElement;
    const room = root.clientWidth;
    const inScroller = (element) => {
      for (let box = element.parentElement; box && box !== document.body; box = box.parentElement) {
        if (getComputedStyle(box).overflowX !== "visible") return true;
      }
      return false;
    };
    const sticking = [...document.body.querySelectorAll("*")]
      .filter((element) => element.getBoundingClientRect().right > room + 1 && !inScroller(element))
      .map((element) => element.tagName.toLowerCase() + (element.id ? `#${element.id}` : ""));
    return {
      room,
      width: Math.max(root.scrollWidth, document.body.scrollWidth),
      sticking: [...new Set(sticking)].slice(0, 4),
      device: document.querySelector('meta[name="viewport"]')?.content.includes("width=device-width") ?? false,
    };
  });
  if (seen.width > seen.room) {
    say("overflow", `${seen.width} px wide on ${seen.room} px${when}: ${seen.sticking.join(", ")}`);
  }
  if (!seen.device) say("no-viewport", "no meta viewport with width=device-width");
  return seen.device && seen.width <= seen.room;
}

/** Light paper by day, dark paper where the device asks for it: the sheet's own ground must follow. */
async function checkPaper(page, view, say) {
  const lightness = await page.evaluate(() => {
    const grounds = [document.body, document.documentElement].map((el) => getComputedStyle(el).backgroundColor);
    const context = document.createElement("canvas").getContext("2d", { willReadFrequently: true });
    context.fillStyle = "Canvas";
    context.fillRect(0, 0, 1, 1);
    for (const ground of grounds.reverse()) {
      context.fillStyle = ground;
      context.fillRect(0, 0, 1, 1);
    }
    const [red, green, blue] = context.getImageData(0, 0, 1, 1).data;
    return (0.2126 * red + 0.7152 * green + 0.0722 * blue) / 255;
  });
  const dark = lightness < 0.5;
  if (dark !== (view.paper === "dark")) {
    say("wrong-paper", `the ground's lightness is ${lightness.toFixed(2)} where ${view.paper} paper is asked for`);
  }
}

/**
 * All of axe-core but the rules left out above. On dark paper only those rules that look at colours: the stylesheet
 * changes nothing else there, and every other rule has just seen the same page at the same width.
 */
async function checkWithAxe(page, view, say) {
  const violations = await page.evaluate(async ({ leftOut, coloursAlone }) => {
    const isWanted = ({ ruleId, tags }) => !leftOut.includes(ruleId) && (!coloursAlone || tags.includes("cat.color"));
    const rules = Object.fromEntries(axe.getRules().map((rule) => [rule.ruleId, { enabled: isWanted(rule) }]));
    const result = await axe.run(document, { rules, resultTypes: ["violations"], preload: false });
    return result.violations.map(({ id, help, nodes }) => ({
      id, help, targets: nodes.slice(0, 3).map((node) => node.target.join(" ")), count: nodes.length,
    }));
  }, { leftOut: Object.keys(LEFT_OUT), coloursAlone: view.paper === "dark" });
  for (const { id, help, targets, count } of violations) {
    say(`axe-${id}`, `${help}: ${targets.join(" | ")}${count > targets.length ? ` and ${count - targets.length} more` : ""}`);
  }
}

let axeText;
function axeSource() {
  axeText ??= readFileSync(requirePinned.resolve("axe-core/axe.min.js"), "utf8");
  return axeText;
}

if (isProgram(import.meta.url)) await runAsProgram(checkPages);
