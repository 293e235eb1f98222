// A rider who looks for a sheet, in real browsers from the disk: each line of tests/finding/cases.txt is typed into the
// finding page and must bring its sheet first; then by keyboard alone, from an address, from the front page, without
// script, and in a library of two thousand sheets, where the time to the first row is printed.
//
//   node tests/tools/finding.mjs SITE_DIR [LARGE_SCRIPT]
//
// LARGE_SCRIPT is what `LOCKNUT_FINDING_LARGE=FILE cargo test finding` writes.

import { cpSync, existsSync, mkdtempSync, readFileSync, rmSync, statSync } from "node:fs";
import { tmpdir } from "node:os";
import path from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";
import { filesOf, launchChromium, launchFirefox, textOf } from "./common.mjs";

const [site, large] = process.argv.slice(2);
if (!site || process.argv.length > 4) {
  console.error("usage: node finding.mjs SITE_DIR [LARGE_SCRIPT]");
  process.exit(2);
}
const MOST_INDEX = 1_500_000;
const MOST_FINDER = 9_000;
const MOST_ROWS = 12;
const found = [];
let looked = 0;

/** Notes a difference between what stands there and what should. */
function same(what, is, wanted) {
  looked += 1;
  if (is !== wanted) found.push(`${what}: ${JSON.stringify(is)}, not ${JSON.stringify(wanted)}`);
}
const addressOf = (folder, name) => pathToFileURL(path.join(path.resolve(folder), name)).href;

/** The cases: words, the numbers of which one must be first, and the line. */
function casesOf(text) {
  const cases = [];
  text.split("\n").forEach((line, place) => {
    if (!line.trim() || line.startsWith("#")) return;
    const [words, numbers, more] = line.split("|").map((part) => part.trim());
    if (!words || !numbers || more !== undefined) throw new Error(`cases.txt:${place + 1}: not "words | number"`);
    cases.push({ words, numbers: numbers.split(/,\s*/), at: place + 1 });
  });
  return cases;
}
const cases = casesOf(readFileSync(fileURLToPath(new URL("../finding/cases.txt", import.meta.url)), "utf8"));
if (cases.length < 60) throw new Error(`${cases.length} cases are too few`);

/** Opens a page and notes what it throws and what it asks for beyond the disk. */
async function open(context, address) {
  const page = await context.newPage();
  page.on("pageerror", (error) => found.push(`${address}: ${error}`));
  page.on("request", (request) => {
    if (!request.url().startsWith("file:")) found.push(`${address} asks for ${request.url()}`);
  });
  await page.goto(address);
  return page;
}

/** What the finding page shows: the rows' sheets and lines, and what is said. */
const shown = (page) => page.evaluate(() => ({
  rows: [...document.querySelectorAll("#found>li")].map((row) => ({
    number: row.querySelector(".number").textContent,
    href: row.querySelector("a").getAttribute("href"),
    line: row.querySelector(".what p").textContent,
    figure: row.querySelector(".fig")?.textContent ?? "",
    bold: [...row.querySelectorAll(".what p b")].map((word) => word.textContent),
  })),
  said: document.getElementById("found-said").textContent,
  none: !document.getElementById("found-none").hidden,
  more: document.getElementById("found-more").hidden ? "" : document.getElementById("found-more").textContent,
}));

/** A formula has no sheet number; its name is the end of its address. */
const nameOf = (row) => (/\d/.test(row.number) ? row.number : row.href.replace(/^.*#f-/, ""));

async function tryCases(context) {
  const page = await open(context, addressOf(site, "find.html"));
  const field = page.locator("#find-q");
  for (const { words, numbers, at } of cases) {
    // The last letter comes by its key, as from a rider.
    await field.fill(words.slice(0, -1));
    await field.press(words.at(-1));
    const { rows, none } = await shown(page);
    const first = none ? "none" : rows.length ? nameOf(rows[0]) : "nothing shown";
    looked += 1;
    if (!numbers.includes(first)) {
      found.push(`cases.txt:${at}: ${words}: ${first} (${rows.slice(0, 4).map(nameOf).join(", ")}), not ${numbers.join(" or ")}`);
    }
  }
  await page.close();
}

async function tryKeyboard(context) {
  const page = await open(context, addressOf(site, "find.html"));
  const focused = () => page.evaluate(() => document.activeElement.id || document.activeElement.closest("#found>li")?.querySelector(".number").textContent);
  await page.keyboard.press("/");
  same("/ goes to the field", await focused(), "find-q");
  await page.keyboard.type("brake/lever");
  same("/ is a sign in the field", await page.locator("#find-q").inputValue(), "brake/lever");
  await page.keyboard.press("Escape");
  same("Escape clears the field", await page.locator("#find-q").inputValue(), "");
  same("Escape clears the rows", (await shown(page)).rows.length, 0);
  await page.keyboard.type("chain");
  const { rows, said } = await shown(page);
  same("there are rows", rows.length > 3, true);
  same("the count is said", said.startsWith(`${rows.length >= MOST_ROWS ? "" : rows.length}`) && / sheets/.test(said), true);
  same("the count is announced", await page.locator("#found-said").getAttribute("aria-live"), "polite");
  await page.keyboard.press("ArrowUp");
  same("nothing above the field", await focused(), "find-q");
  await page.keyboard.press("ArrowDown");
  same("down to the first row", await focused(), rows[0].number);
  await page.keyboard.press("ArrowDown");
  same("down to the second row", await focused(), rows[1].number);
  await page.keyboard.press("ArrowUp");
  await page.keyboard.press("ArrowUp");
  same("up to the field", await focused(), "find-q");
  await page.keyboard.press("Enter");
  same("Enter in the field goes to the first row", await focused(), rows[0].number);
  await page.waitForFunction(() => location.search === "?q=chain");
  await page.keyboard.press("Enter");
  await page.waitForURL((url) => url.href.includes(rows[0].href));
  looked += 1;
  await page.goBack();
  await page.waitForFunction(() => document.querySelectorAll("#found>li").length > 0);
  same("the question is there on the way back", await page.locator("#find-q").inputValue(), "chain");
  await page.close();
}

async function tryRows(context) {
  const page = await open(context, addressOf(site, "find.html"));
  const field = page.locator("#find-q");
  await field.fill("gears jam");
  const [first] = (await shown(page)).rows;
  same("what matched", first.line, "symptom: gears jam on the largest sprocket");
  same("the words that matched", first.bold.join("|").replace("|", " "), "gears jam");
  same("the figure that answers", first.figure.replaceAll("\u00a0", " "), "110 links");
  await field.fill("wrap the chain");
  same("an operation is named", (await shown(page)).rows[0].line, "Op 30: Wrap the new chain and count");
  const operation = page.locator("#found p a[href*='#op-']").first();
  if (await operation.count()) {
    await operation.click();
    await page.waitForURL((url) => url.hash.startsWith("#op-"));
    same("its place is there", await page.evaluate(() => document.querySelector(location.hash) !== null), true);
    await page.goBack();
  }

  await field.fill("the");
  const before = await shown(page);
  same("the first rows alone", before.rows.length, MOST_ROWS);
  same("more are offered", /^more \(\d+\)$/.test(before.more), true);
  await page.locator("#found-more").click();
  const after = await shown(page);
  same("more rows", after.rows.length > MOST_ROWS, true);
  same("the first stay", after.rows[0].href, before.rows[0].href);
  same("the next row has the focus", await page.evaluate(() => [...document.querySelectorAll("#found>li")].indexOf(document.activeElement.closest("li"))), MOST_ROWS);

  await field.fill("sprockling");
  const none = await shown(page);
  same("no sheet is said", `${none.none} ${none.said}`, "true no sheets");
  const near = page.locator("#found-near button");
  same("nearest words are offered", (await near.allInnerTexts()).includes("sprocket"), true);
  same("ways in are offered", await page.locator("#found-none a").count() >= 2, true);
  await near.first().click();
  same("a nearest word finds", (await shown(page)).rows.length > 0, true);
  await field.fill("spoek");
  same("what was read otherwise is said", /^\d+ sheets; spoek read as spokes?$/.test((await shown(page)).said), true);
  await field.fill("gears jam zzyzx");
  same("what is nowhere is said", /; zzyzx is in no sheet$/.test((await shown(page)).said), true);
  await field.fill("qwxyz");
  same("where nothing is near, no words are offered", await page.locator("#found-near").isVisible(), false);
  // Every phrase that the finder knows, and every beginning of one, can be asked.
  const asked = await page.evaluate(() => {
    const phrases = locknutFinding.synonyms.split(/[,\n]/);
    for (const phrase of phrases) for (let end = 1; end <= phrase.length; end++) locknutFinding.find(phrase.slice(0, end));
    return phrases.length;
  });
  same("phrases of the workshop's other words", asked >= 160, true);
  // Words are only ever words.
  await field.fill("<img src=x onerror=alert(1)>");
  same("no markup comes of words", await page.locator("main img").count(), 0);
  await page.close();
}

async function tryAddress(context) {
  const page = await open(context, `${addressOf(site, "find.html")}?q=buckled%20wheel+spokes`);
  await page.waitForFunction(() => document.querySelectorAll("#found>li").length > 0);
  same("the words of the address", await page.locator("#find-q").inputValue(), "buckled wheel spokes");
  await page.locator("#find-q").fill("tyre & rim");
  await page.waitForFunction(() => new URLSearchParams(location.search).get("q") === "tyre & rim");
  await page.reload();
  await page.waitForFunction(() => document.querySelectorAll("#found>li").length > 0);
  same("kept over a reload", await page.locator("#find-q").inputValue(), "tyre & rim");
  const overflow = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
  same("no wider than the window", overflow <= 0, true);
  await page.close();
  const front = await open(context, addressOf(site, "index.html"));
  await front.locator("#find-q").fill("gears jam");
  await front.locator("#find-q").press("Enter");
  await front.waitForFunction(() => document.querySelectorAll("#found>li").length > 0);
  same("the front page's field leads to the finding page", (await shown(front)).rows[0].number, "DT-014");
  await front.close();
}

async function tryWithoutScript(browser) {
  const context = await browser.newContext({ javaScriptEnabled: false });
  const page = await open(context, addressOf(site, "find.html"));
  same("without script it says so", /needs a script/.test(await page.locator("main").innerText()), true);
  same("without script there is no dead field", await page.locator("#find-q").isVisible(), false);
  same("the indexes are linked", await page.locator("main noscript a").count() >= 2 || await page.locator("main a[href^='index.html#']").count() >= 2, true);
  await context.close();
}

async function tryFirefox() {
  const browser = await launchFirefox();
  try {
    const page = await browser.newPage();
    page.on("pageerror", (error) => found.push(`Firefox: ${error}`));
    await page.goto(`${addressOf(site, "find.html")}?q=gears%20jam`);
    await page.waitForSelector("#found>li");
    same("Firefox, from an address", (await shown(page)).rows[0].number, "DT-014");
    await page.focus("#find-q");
    await page.keyboard.press("Escape");
    await page.keyboard.type("tire presure");
    same("Firefox, typed", (await shown(page)).rows[0].number, "TY-008");
    await page.waitForFunction(() => location.search === "?q=tire%20presure");
    await page.keyboard.press("ArrowDown");
    await page.keyboard.press("Enter");
    await page.waitForFunction(() => location.pathname.includes("/guides/"));
    looked += 2;
  } finally {
    await browser.close();
  }
}

/** The time from a key to the first row, and the longest task while the page loads, at two thousand sheets. */
async function tryLarge(browser) {
  const folder = mkdtempSync(path.join(tmpdir(), "locknut-finding-"));
  try {
    const [name] = filesOf(site, [".js"]).filter((file) => /^finding\.\w+\.js$/.test(file));
    cpSync(site, folder, { recursive: true });
    cpSync(large, path.join(folder, name));
    const page = await open(await browser.newContext(), "about:blank");
    await page.addInitScript(() => {
      window.tasks = [];
      new PerformanceObserver((list) => window.tasks.push(...list.getEntries().map((task) => task.duration))).observe({ type: "longtask", buffered: true });
    });
    await page.goto(addressOf(folder, "find.html"));
    await page.waitForFunction(() => new Promise((done) => locknutFinding.unpack(() => done(true))));
    const [loaded, tasks] = await page.evaluate(() => [performance.now(), window.tasks]);
    // On a machine that does other work the clock says little; the page's own work is measured beside it.
    const tools = await page.context().newCDPSession(page);
    await tools.send("Performance.enable", { timeDomain: "threadTicks" });
    const worked = async () => (await tools.send("Performance.getMetrics")).metrics.find(({ name: of }) => of === "TaskDuration").value * 1000;
    const times = [];
    const works = [];
    const type = async (words, what) => {
      await page.locator("#find-q").fill("");
      for (const key of words) {
        const before = await worked();
        times.push([what, await page.evaluate(timeOf, key)]);
        works.push((await worked()) - before);
      }
    };
    await type("gears jam", "gears jam");
    same("the sheet among two thousand", (await shown(page)).rows[0].line, "symptom: gears jam on the largest sprocket");
    for (const words of ["deraileur cabel", "allen key size stem", "the chain of a wheel with a long brake lever"]) await type(words, words);
    const sorted = times.map(([, time]) => time).sort((one, other) => one - other);
    const [worst] = times.find(([, time]) => time === sorted.at(-1));
    const own = works.toSorted((one, other) => one - other);
    const said = (list) => `${list[0].toFixed(1)} to ${list.at(-1).toFixed(1)} ms, middle ${list[list.length >> 1].toFixed(1)}`;
    console.log(`2000 sheets: ready ${Math.round(loaded)} ms after the address, ${tasks.length} tasks over 50 ms${tasks.length ? `, the longest ${Math.round(Math.max(...tasks))} ms` : ""}`);
    console.log(`2000 sheets: from a key to its rows ${said(sorted)}, of ${sorted.length} keys; the first key ${times[0][1].toFixed(1)} ms; the slowest in ${JSON.stringify(worst)}`);
    console.log(`2000 sheets: the page's own work for a key ${said(own)}`);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}
/** Runs in the page: one more sign in the field, until its rows are laid out. */
function timeOf(key) {
  const field = document.getElementById("find-q");
  const from = performance.now();
  field.value += key;
  field.dispatchEvent(new Event("input", { bubbles: true }));
  document.body.getBoundingClientRect();
  return performance.now() - from;
}

if (!existsSync(path.join(site, "find.html"))) {
  console.log("find.html: missing: nothing was looked for");
  process.exit(1);
}
const scripts = filesOf(site, [".js"]).filter((file) => /^finding\.\w+\.js$/.test(file));
same("one finding script", scripts.length, 1);
const script = scripts.length ? textOf(site, scripts[0]) : "";
const finder = Buffer.byteLength(script.slice(script.indexOf("};\n") + 3));
same(`the finder's ${finder} bytes keep their limit`, finder <= MOST_FINDER, true);
console.log(`${statSync(path.join(site, scripts[0])).size} bytes of finding script, ${finder} of them the finder; ${cases.length} cases`);
if (large) {
  console.log(`${statSync(large).size} bytes of finding script at 2000 sheets`);
  same("the index at 2000 sheets keeps its limit", statSync(large).size <= MOST_INDEX, true);
}
const browser = await launchChromium();
try {
  const context = await browser.newContext();
  await tryCases(context);
  await tryKeyboard(context);
  await tryRows(context);
  await tryAddress(await browser.newContext({ viewport: { width: 320, height: 700 } }));
  await tryWithoutScript(browser);
  if (large) await tryLarge(browser);
} finally {
  await browser.close();
}
await tryFirefox();
for (const one of found) console.log(one);
console.log(`${looked} things looked at; ${found.length === 0 ? "nothing found" : `${found.length} found`}`);
process.exitCode = found.length === 0 ? 0 : 1;
