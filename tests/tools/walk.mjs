// A rider's walk through the pressed library, in a real browser from the disk: from the symptom on the front page to the
// guide, to the working behind its figure, to their own numbers, to the paper; from a balloon of the bicycle to a sheet;
// through a fault-finding chart, forward and back; the units turned and remembered; and all of it read with script off;
// Then what the pages weigh: what is needed for the first paint, and what a guide brings along.
//
//   node tests/tools/walk.mjs SITE_DIR

import { statSync } from "node:fs";
import path from "node:path";
import { pathToFileURL } from "node:url";
import { filesOf, inParallel, isRedirect, launchChromium, textOf } from "./common.mjs";

const [site] = process.argv.slice(2);
if (!site) {
  console.error("usage: node walk.mjs SITE_DIR");
  process.exit(2);
}
const MOST_GUIDE = 150_000;
const SYMPTOM = "gears jam on the largest sprocket";
const found = [];
let looked = 0;

/** Notes a difference between what is there and what should be. */
function same(what, is, wanted) {
  looked += 1;
  if (is !== wanted) found.push(`${what}: ${JSON.stringify(is)}, not ${JSON.stringify(wanted)}`);
}
const addressOf = (name) => pathToFileURL(path.join(path.resolve(site), name)).href;
const placeOf = (page) => decodeURIComponent(new URL(page.url()).pathname).slice(path.resolve(site).length + 1) + new URL(page.url()).hash;

/** A page of a new reader, who asks the disk for everything and throws nothing. */
async function open(browser, name, options = {}) {
  const context = await browser.newContext({ viewport: { width: 390, height: 780 }, reducedMotion: "reduce", ...options });
  const page = await context.newPage();
  page.on("pageerror", (error) => found.push(`${name}: ${error}`));
  page.on("request", (request) => {
    if (!/^(file|blob|data):/.test(request.url())) found.push(`${name} asks for ${request.url()}`);
  });
  await page.goto(addressOf(name));
  return page;
}

async function fromSymptomToPaper(browser) {
  const page = await open(browser, "index.html");
  const fold = page.locator("details.fold", { has: page.getByText(SYMPTOM, { exact: true }) });
  if (await fold.count() > 0) await fold.first().locator("summary").click();
  await page.getByRole("link", { name: SYMPTOM, exact: true }).click();
  same("the symptom leads to its guide", placeOf(page), "guides/drivetrain/chain-after-chainring.html");
  same("the figure stands at the head", (await page.locator(".key-figure").innerText()).replace(/\s/g, " "), "110 links");
  await page.locator("a.fig", { hasText: "110" }).first().click();
  const working = page.locator("details.working:target");
  same("the figure opens its working, with its formula", await working.locator("math").first().isVisible(), true);
  const field = working.getByLabel("chainstay", { exact: true });
  await field.fill("435");
  const results = async () => (await working.locator(".own-result b").allInnerTexts()).map((text) => text.replace(/\s/g, " "));
  // 2 · 435 / 12.7 + (50 + 34) / 2 + (50 − 34)² · 12.7 / (4 π² · 435) = 110.7; a pair for the cage and up to whole pairs
  // makes 114 (the closed approximation for chain length as handbooks give it, by hand).
  same("a longer stay asks for a longer chain", (await results()).includes("114 links"), true);
  await page.emulateMedia({ media: "print" });
  same("on paper the rider's own numbers stay", await working.locator(".own-numbers").isVisible(), true);
  same("on paper there is no way to look for sheets", await page.locator(".strip-find").isVisible(), false);
  same("on paper the title block stands", await page.locator(".block").isVisible(), true);
  await page.context().close();
}

async function fromBalloonToSheet(browser) {
  const page = await open(browser, "index.html", { viewport: { width: 1280, height: 900 } });
  const balloon = page.getByRole("link", { name: "Item 12, Chain", exact: true });
  await balloon.focus();
  await page.keyboard.press("Enter");
  // The address follows the key a moment later.
  await page.waitForURL(/#/).catch(() => {});
  same("a balloon leads to its row", placeOf(page), "index.html#item-12");
  await page.locator("#item-12 td").last().getByRole("link").first().click();
  same("the row leads to a sheet", /^guides\/drivetrain\//.test(placeOf(page)), true);
  same("every balloon has a row", await (await open(browser, "index.html")).evaluate(() =>
    [...document.querySelectorAll(".arrangement svg a")].every((a) => document.querySelector(a.getAttribute("href")))), true);
  await page.context().close();
}

async function throughAChart(browser) {
  const page = await open(browser, "faults/creak.html");
  const shown = () => page.locator(".chart-check:visible").count();
  const all = await page.locator(".chart-check").count();
  same("one check at a time", await shown(), 1);
  const first = page.locator(".chart-check:visible .to-check").first();
  // The whole row is the answer, not its last words alone.
  await first.locator(".answer").scrollIntoViewIfNeeded();
  const words = await first.locator(".answer").boundingBox();
  await page.mouse.click(words.x + words.width / 2, words.y + words.height / 2);
  await page.waitForFunction(() => location.hash.length > 1);
  same("an answer leads on", await shown(), 1);
  same("what was answered is told", await page.locator(".chart-way li").count(), 1);
  same("the question has the focus", await page.evaluate(() => document.activeElement.tagName), "H2");
  await page.goBack();
  await page.waitForFunction(() => document.querySelector(".chart-way").hidden);
  same("back is back", await page.locator(".chart-check:visible h2").innerText(), await page.locator(".chart-check h2").first().innerText());
  await page.locator(".chart-whole").click();
  same("the whole chart on demand", await shown(), all);
  await page.emulateMedia({ media: "print" });
  await page.locator(".chart-whole").evaluate((button) => button.click());
  same("on paper always the whole", await shown(), all);
  await page.context().close();
  for (const name of filesOf(site, [".html"]).filter((name) => name.startsWith("faults/"))) {
    const still = await open(browser, name, { javaScriptEnabled: false });
    same(`${name}: whole without script`, await still.locator(".chart-check:visible").count(), await still.locator(".chart-check").count());
    const answers = await still.locator(".answers li").count();
    const links = await still.locator(".answers li:has(a), .answers .to-bring").count();
    same(`${name}: every answer leads somewhere`, links, answers);
    await still.context().close();
  }
}

async function unitsTurned(browser) {
  const name = filesOf(site, [".html"]).find((one) => one.startsWith("guides/") && /class="beside">\([^)]*(lbf|psi)/.test(textOf(site, one)) && /class="fig[^>]*>[^<]*<\/(a|span)> <span class="beside"/.test(textOf(site, one)));
  const page = await open(browser, name);
  const figure = page.locator(".words .fig:has(+ .beside)").first();
  const both = () => figure.evaluate((one) => `${one.textContent} ${one.nextElementSibling.textContent}`.replace(/\s/g, " "));
  const before = await both();
  same("the shop's unit comes first", /^[^(]*(N·m|bar)[^(]*\((?:at (?:most|least) )?[\d.–± to]+ (lbf·in|psi)\)$/.test(before), true);
  await page.locator("input[name=own-units][value=inch]").check();
  const after = await both();
  same("turned, the other comes first", after, before.replace(/^(.*) \((.*)\)$/, "$2 ($1)"));
  await page.reload();
  same("and it is remembered", await both(), after);
  await page.context().close();
}

async function withoutScript(browser) {
  const page = await open(browser, "guides/drivetrain/chain-after-chainring.html", { javaScriptEnabled: false });
  same("without script the figure leads to its working", await page.locator("a.fig[href^='#w-']").count() > 0, true);
  await page.locator("details.working summary").first().click();
  same("without script the working opens", await page.locator("details.working[open] math").count() > 0, true);
  same("without script no dead form is shown", await page.locator(".own-numbers:visible, #own-numbers:visible").count(), 0);
  await page.context().close();
}

/** No page is wider than the narrowest screen, which is also a desk's at 400 % zoom (WCAG 2.2, 1.4.10: 320 CSS px). */
async function onTheNarrowest(browser) {
  const pages = filesOf(site, [".html"]).filter((name) => !name.startsWith("editions/") && !isRedirect(textOf(site, name)));
  const context = await browser.newContext({ viewport: { width: 320, height: 640 }, reducedMotion: "reduce" });
  const wide = await inParallel(pages, 3, async (name) => {
    const page = await context.newPage();
    await page.goto(addressOf(name), { waitUntil: "load" });
    await page.evaluate(() => document.querySelectorAll("details").forEach((one) => { one.open = true; }));
    const over = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
    await page.close();
    return over > 0 ? `${name}: ${over} px wider than 320 px` : "";
  });
  looked += pages.length;
  found.push(...wide.filter(Boolean));
  await context.close();
}

/** What a page needs before it is seen, and what it brings along without photos and typefaces. */
function weigh() {
  let most = [0, ""];
  let tabled = [0, ""];
  let pages = 0;
  for (const name of filesOf(site, [".html"]).filter((one) => !one.startsWith("editions/") && !isRedirect(textOf(site, one)))) {
    const text = textOf(site, name);
    const head = text.slice(0, text.indexOf("</head>"));
    const sheets = [...head.matchAll(/<link[^>]+rel="stylesheet"[^>]+href="([^"]+)"/g)].map((match) => match[1]);
    if (name !== "404.html") same(`${name}: one stylesheet`, sheets.length, 1);
    same(`${name}: no script before the first paint`, /<script[^>]+\bsrc=/.test(head), false);
    const scripts = [...text.matchAll(/<script[^>]+\bsrc="([^"]+)"/g)].map((match) => match[1]);
    const weight = [...sheets, ...scripts].reduce((sum, href) => sum + statSync(path.join(site, path.dirname(name), href)).size, Buffer.byteLength(text));
    const drawings = (text.match(/class="drawing"/g) ?? []).length;
    const workings = (text.match(/class="working"/g) ?? []).length;
    pages += 1;
    if (!/^(guides|replies)\//.test(name)) continue;
    const told = [weight, `${name}, ${drawings} drawings and ${workings} workings`];
    // A table of parts by parts says of each pair why: a page of its own weight, told and not held.
    if (/class="fit-table"/.test(text)) {
      if (weight > tabled[0]) tabled = told;
      continue;
    }
    if (weight > most[0]) most = told;
    if (drawings <= 3 && workings <= 3) {
      looked += 1;
      if (weight > MOST_GUIDE) found.push(`${name}: ${weight} bytes with its stylesheet and scripts, for ${drawings} drawings and ${workings} workings`);
    }
  }
  console.log(`${pages} pages weighed; the heaviest guide has ${most[0]} bytes with its stylesheet and scripts: ${most[1]}; with a table of parts ${tabled[0]}: ${tabled[1]}`);
}

const browser = await launchChromium();
try {
  await fromSymptomToPaper(browser);
  await fromBalloonToSheet(browser);
  await throughAChart(browser);
  await unitsTurned(browser);
  await withoutScript(browser);
  await onTheNarrowest(browser);
} finally {
  await browser.close();
}
weigh();
for (const one of found) console.log(one);
console.log(`${looked} things looked at; ${found.length === 0 ? "nothing found" : `${found.length} found`}`);
process.exitCode = found.length === 0 ? 0 : 1;
