// A reader's own numbers, in a real browser from the disk: typed with a comma, with a unit, as a fraction, or wrong;
// kept for other sheets, carried in a link, switched to inches; and each answer the very text that `reckon` gives.
//
//   node tests/tools/own.mjs SITE_DIR PROGRAM

import { spawnSync } from "node:child_process";
import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import path from "node:path";
import { pathToFileURL } from "node:url";
import { filesOf, launchChromium, textOf } from "./common.mjs";

const [site, program] = process.argv.slice(2);
if (!program) {
  console.error("usage: node own.mjs SITE_DIR PROGRAM");
  process.exit(2);
}
const MOST_SCRIPT = 30_000;
const PAGE = "guides/drivetrain/chain-after-chainring.html";
const found = [];
let looked = 0;

/** Notes a difference between what stands there and what should. */
function same(what, is, wanted) {
  looked += 1;
  if (is !== wanted) found.push(`${what}: ${JSON.stringify(is)}, not ${JSON.stringify(wanted)}`);
}

/** What the program itself answers. */
function reckon(...given) {
  const run = spawnSync(program, ["reckon", "chain-length", ...given, "--json"], { encoding: "utf8" });
  if (run.status !== 0) throw new Error(run.stderr);
  return JSON.parse(run.stdout).outputs;
}

/** Runs the program, which must end well. */
function run(...words) {
  const done = spawnSync(program, words, { encoding: "utf8" });
  if (done.status !== 0) throw new Error(`${words.join(" ")}: ${done.stderr}`);
}

const ENGINE = `id: engine
title: Push of an engine
topic: electrics
question: How hard does it push?
inputs:
  - {name: push, symbol: p, kind: pressure, unit: lbf/in^2, range: [1, 2000], about: push on the piston}
outputs:
  - {name: same, symbol: q, kind: pressure, unit: MPa, decimals: 0, about: the same push}
steps:
  - same = push
valid: everywhere
source: definition
examples:
  - {given: {push: 290 lbf/in^2}, gives: {same: 2 MPa}, tolerance: 0.01, source: by hand}
`;

/** What the program itself says is wrong. */
function faultsOf(...given) {
  const run = spawnSync(program, ["reckon", "chain-length", ...given, "--json"], { encoding: "utf8" });
  if (run.status !== 2) throw new Error(`${given}: status ${run.status}, ${run.stdout}`);
  return JSON.parse(run.stdout).faults;
}

// What a working needs: the script of editions, which does nothing on a page from the disk, is weighed by hosted.mjs, and
// that of the finding page by finding.mjs.
const isOfHosts = (name) => /(^|\/)(service-worker|(edition|finding)\.[0-9a-f]+)\.js$/.test(name);
for (const name of filesOf(site, [".html"])) {
  const scripts = [...textOf(site, name).matchAll(/<script [^>]*\bsrc="([^"]+)"/g)].filter(([, href]) => !isOfHosts(href)).map(([, href]) => path.join(site, path.dirname(name), href));
  const bytes = scripts.reduce((sum, file) => sum + readFileSync(file).length, 0);
  const workings = (textOf(site, name).match(/class="own-numbers"/g) ?? []).length;
  looked += 1;
  if (workings <= 3 && bytes > MOST_SCRIPT) found.push(`${name}: ${bytes} bytes of script for ${workings} workings`);
}

// The three largest formulas of all on one page.
const sizes = filesOf(site, [".js"]).filter((name) => !isOfHosts(name)).map((name) => [name, readFileSync(path.join(site, name)).length]);
const ofFormulas = sizes.filter(([name]) => name.startsWith("formulas/") && !name.startsWith("formulas/engine.")).map(([, size]) => size);
const shared = sizes.filter(([name]) => !name.startsWith("formulas/") || name.startsWith("formulas/engine.")).reduce((sum, [, size]) => sum + size, 0);
const largest = shared + ofFormulas.sort((one, other) => other - one).slice(0, 3).reduce((sum, size) => sum + size, 0);
looked += 1;
if (largest > MOST_SCRIPT) found.push(`the three largest formulas would come to ${largest} bytes of script`);

const browser = await launchChromium();
try {
  const context = await browser.newContext();
  const asked = [];
  context.on("request", (request) => asked.push(request.url()));
  const page = await context.newPage();
  page.on("pageerror", (error) => found.push(String(error)));
  const address = pathToFileURL(path.join(path.resolve(site), PAGE)).href;
  await page.goto(address);
  const field = (name) => page.locator(`#own-chain-${name}`);
  const said = () => page.locator("#w-chain .own-result").innerText();
  const answer = (name) =>
    page.locator("#w-chain .own-result li", { has: page.locator(".about", { hasText: new RegExp(`^${name}$`) }) }).locator("b").innerText();
  const agrees = async (what, ...given) => {
    for (const [name, output] of Object.entries(reckon(...given))) same(`${what}, ${name}`, await answer(name.replaceAll("_", " ")), output.text);
  };
  await page.locator("#w-chain > summary").focus();
  await page.keyboard.press("Enter");
  await agrees("the sheet's numbers", "chainstay=410mm", "chainring=50", "sprocket=34");
  // By keyboard alone, with a decimal comma.
  await field("chainstay").focus();
  await page.keyboard.press("Control+A");
  await page.keyboard.type("425,5");
  await page.keyboard.press("Tab");
  await agrees("a decimal comma", "chainstay=425.5mm", "chainring=50", "sprocket=34");
  await field("chainstay").fill("16 3/4 in");
  await agrees("a fraction with its unit", "chainstay=16 3/4 in", "chainring=50", "sprocket=34");
  await field("chainring").fill("46 teeth");
  await agrees("a count with its word", "chainstay=16 3/4 in", "chainring=46", "sprocket=34");

  // Whatever is wrong is told in the words of the program itself: what, what is allowed, what to do.
  const wrong = {
    chainstay: ["41 mm", "410 mn", "410 MM", "410mmm", "410 millimetres", "410 kg", "41 psi", "5 N·m", "5 Nm", "410 J", "3 °C", "50 %",
      "410 teeth", "abc", "mm", "410 mm 3", "50.5 in in", "400 + 10 mm", "1.2.3 mm", ".5 mm", "5. mm", "4e2 mm", "1/0 in",
      "3/4 in", "1/2 kg", "-410 mm", "410 m", "99999999999999999999 mm"],
    chainring: ["50.5", "500", "8", "0", "50 mm", "50 links", "50 %", "fifty", "50 tooths", "1/2"],
  };
  const words = (text) => text.replaceAll("_", " ").replaceAll("\u00a0", " ");
  for (const [name, texts] of Object.entries(wrong)) {
    for (const text of texts) {
      const before = await field(name).inputValue();
      await field(name).fill(text);
      const given = { chainstay: "410mm", chainring: "50", sprocket: "34", [name]: text };
      const [fault] = faultsOf(...Object.entries(given).map(([name, value]) => `${name}=${value}`));
      // What an empty field may hold is told without the tolerance that a form doesn't take.
      const allowed = fault.allowed && fault.id !== "bad-value" ? `Allowed: ${words(fault.allowed)}. ` : "";
      // A form has several fields, so that each fault begins with its name.
      const message = fault.message.startsWith(name) ? fault.message : `${name}: ${fault.message}`;
      same(`${name} ${JSON.stringify(text)}`, words(await said()).trim(), `${words(message)}. ${allowed}Do: ${words(fault.do)}${fault.do.endsWith("?") ? "" : "."}`);
      same(`${name} ${text} is marked`, await field(name).getAttribute("aria-invalid"), "true");
      await field(name).fill(before);
      same(`${name} ${before} is not marked`, await field(name).getAttribute("aria-invalid"), "false");
    }
  }
  await field("chainstay").fill("410 ± 2");
  same("a tolerance", /points, not tolerances/.test(await said()), true);
  for (const [text, wanted] of [["", /^chainstay is empty/], ["1,200 mm", /write 1200 or 1\.200/]]) {
    await field("chainstay").fill(text);
    same(`chainstay ${JSON.stringify(text)}`, wanted.test(await said()), true);
  }
  await field("chainstay").fill("16 3/4 in");
  same("the result is announced", await page.locator("#w-chain .own-result").getAttribute("aria-live"), "polite");

  // A number that was typed stays what it is when the units are switched.
  await page.locator("input[name=own-units][value=inch]").check();
  same("inches", await answer("links"), reckon("chainstay=16 3/4 in", "chainring=46", "sprocket=34").links.text);
  await page.locator("input[name=own-units][value=metric]").check();

  // Kept on the device and offered on another sheet; nothing is filled in unasked.
  const other = await context.newPage();
  await other.goto(pathToFileURL(path.join(path.resolve(site), "guides/library/set-a-drawing.html")).href);
  await other.locator("#w-chain > summary").click();
  same("nothing is filled in unasked", await other.locator("#own-chain-chainstay").inputValue(), "410");
  await other.locator("#w-chain .own-offer").first().click();
  same("my bike's chainstay", (await other.locator("#own-chain-chainstay").inputValue()).replaceAll("\u00a0", " "), "16 3/4 in");

  // Read and forgotten in one place.
  same("what is kept", /chainstay 16 3\/4.in; /.test(await other.locator("#own-numbers .own-bike").evaluate((box) => box.textContent)), true);
  await other.locator("#own-numbers .own-bike summary").click();
  await other.locator("#own-numbers .own-bike button").click();
  same("nothing is kept any more", await other.locator("#own-numbers .own-bike").isHidden(), true);
  same("nothing is offered any more", await other.locator("#w-chain .own-offer:visible").count(), 0);
  same("the device forgot", await other.evaluate(() => localStorage.getItem("locknut: my bike")), "{}");
  const cautions = await page.locator("#w-chain .caution").allInnerTexts();
  same("the form tells the cautions", (await page.locator("#w-chain .own-caution").allInnerTexts()).join("|"), cautions.join("|"));
  same("there are cautions", cautions.length > 0, true);

  // Carried in a link, by a reader whose device knows nothing.
  await page.locator("#w-chain .own-acts button", { hasText: "Link" }).click();
  const link = page.url();
  const elsewhere = await (await browser.newContext()).newPage();
  await elsewhere.goto(link);
  same("the link's numbers", await elsewhere.locator("#w-chain .own-result b").nth(1).innerText(), reckon("chainstay=16 3/4 in", "chainring=46", "sprocket=34").links.text);

  // Typed under inch, opened by a metric reader: the number keeps its unit. A link that somebody broke stops nothing.
  await elsewhere.locator("input[name=own-units][value=inch]").check();
  await elsewhere.locator("#own-chain-chainstay").fill("16.5");
  await elsewhere.locator("#w-chain .own-acts button", { hasText: "Link" }).click();
  const metric = await (await browser.newContext()).newPage();
  metric.on("pageerror", (error) => found.push(String(error)));
  await metric.goto(elsewhere.url());
  same("a link under inch", (await metric.locator("#own-chain-chainstay").inputValue()).replaceAll("\u00a0", " "), "16.5 in");
  await metric.goto(`${address}?again#w-chain?chainring=8%&chainstay=400%20mm`);
  same("a broken link", await metric.locator("#own-chain-chainstay").inputValue(), "400 mm");

  // A formula of a shop's own, by the name of the script that all share, in units that no kind lists.
  const ours = mkdtempSync(path.join(tmpdir(), "locknut-own-"));
  try {
    run("fit-out", path.join(ours, "library"));
    mkdirSync(path.join(ours, "library/content/formulas"), { recursive: true });
    writeFileSync(path.join(ours, "library/content/formulas/engine.yaml"), ENGINE);
    run("press", "--library", path.join(ours, "library"));
    const theirs = await context.newPage();
    theirs.on("pageerror", (error) => found.push(String(error)));
    await theirs.goto(pathToFileURL(path.join(ours, "library/pressed/handbook/electrics.html")).href);
    await theirs.locator("#w-engine > summary").click();
    const lines = () => theirs.locator("#w-engine .own-result").innerText();
    same("our formula", /\b2.MPa/.test(await lines()), true);
    for (const [typed, wanted] of [["580 lbf/in^2", /\b4.MPa/], ["580", /\b4.MPa/], ["4 MPa", /\b4.MPa/], ["1/2", /only before a unit of length/], ["4 kg", /is a pressure, not a mass/]]) {
      await theirs.locator("#own-engine-push").fill(typed);
      same(`our formula with ${typed}`, wanted.test(await lines()), true);
    }
  } finally {
    rmSync(ours, { recursive: true, force: true });
  }

  const away = asked.filter((url) => !url.startsWith("file:"));
  if (away.length > 0) found.push(`asked elsewhere: ${away.join(", ")}`);
} finally {
  await browser.close();
}
for (const line of found) console.log(line);
console.log(`${looked} things looked at, at most ${largest} bytes of script for three workings; ${found.length === 0 ? "nothing found" : `${found.length} found`}`);
process.exitCode = found.length === 0 ? 0 : 1;
