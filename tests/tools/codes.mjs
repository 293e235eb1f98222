// Reads the code on every printed sheet as a telephone would: the page is laid out for paper in real Chromium, also
// where the reader's device asks for dark paper, photographed, and decoded by a pinned library that has nothing to do
// with the one that made the code. It must lead to the page's own address and name its number and revision; its
// modules must be large enough for a workshop printer, and its quiet zone as wide as ISO/IEC 18004 asks.
//
//   node tests/tools/codes.mjs SITE_DIR

import { readFileSync } from "node:fs";
import path from "node:path";
import { pathToFileURL } from "node:url";
import { filesOf, inPages, isProgram, isRedirect, launchChromium, requirePinned, runAsProgram, textOf } from "./common.mjs";

const LEAST_MODULE_MM = 0.4;
const QUIET_MODULES = 4;
const SCALE = 4;
const AT_ONCE = 2;
const MM = 25.4 / 96;

/** Checks each guide and reply of a site that has an address. */
export async function checkCodes(site) {
  const names = filesOf(site, [".html"]).filter((name) => /^(guides|replies)\//.test(name) && !isRedirect(textOf(site, name)));
  const browser = await launchChromium();
  const modules = [];
  try {
    const context = await browser.newContext({ deviceScaleFactor: SCALE, viewport: { width: 794, height: 240 }, serviceWorkers: "block" });
    const decoder = readFileSync(requirePinned.resolve("jsqr"), "utf8");
    await context.addInitScript(decoder.includes("module.exports") ? `{ const exports = {}, module = { exports }; ${decoder}; window.jsQR = module.exports.default ?? module.exports; }` : decoder);
    const lists = await inPages(names, AT_ONCE, () => context.newPage(), (page, name) => checkCode(page, site, name, modules));
    const looked = `${modules.length} codes read, smallest module ${Math.min(...modules).toFixed(2)} mm`;
    return { findings: lists.flat(), looked };
  } finally {
    await browser.close();
  }
}

async function checkCode(page, site, name, modules) {
  const findings = [];
  const say = (fault, detail) => findings.push({ where: name, name: fault, detail });
  try {
    await page.emulateMedia({ media: "screen", colorScheme: "light" });
    await page.goto(pathToFileURL(path.join(site, name)).href, { waitUntil: "load" });
    const canonical = await page.evaluate(() => document.querySelector('link[rel="canonical"]')?.href);
    if (!canonical) return [{ where: name, name: "no-address", detail: "the sheet doesn't say its own address" }];
    if (await page.locator(".sheet-code").count() === 0) return [{ where: name, name: "no-code", detail: "nothing on paper leads to the sheet" }];
    if (await page.locator(".sheet-code").isVisible()) say("code-on-screen", "the code is for paper alone");
    await page.emulateMedia({ media: "print", colorScheme: "dark" });
    const [number, revision] = await page.evaluate(() => {
      const block = Object.fromEntries([...document.querySelectorAll(".block > div")].map((cell) => [cell.querySelector("dt").textContent, cell.querySelector("dd").textContent]));
      return [block["Sheet number"], block.Revision];
    });
    const words = await page.locator(".sheet-code").innerText();
    const lacking = [canonical, number, revision].filter((word) => !words.includes(word));
    if (lacking.length > 0) say("code-without-words", `${lacking.join(", ")} is not below it`);
    const read = await readCode(page);
    if (!read) return [...findings, { where: name, name: "unreadable-code", detail: "the code can't be decoded" }];
    const wanted = `${canonical}#${number}-${revision}`;
    if (read.text !== wanted) say("wrong-code", `leads to ${read.text}, not ${wanted}`);
    if (read.module < LEAST_MODULE_MM) say("small-code", `a module is ${read.module.toFixed(2)} mm`);
    if (read.quiet < QUIET_MODULES - 0.25) say("no-quiet-zone", `${read.quiet.toFixed(1)} modules are free round it`);
    modules.push(read.module);
  } catch (error) {
    say("not-checked", error.message);
  }
  return findings;
}

/** Text, module in mm and quiet zone in modules of the code that is on the page. */
async function readCode(page) {
  const picture = await page.locator(".sheet-code svg").screenshot({ type: "png" });
  const found = await page.evaluate(async (base64) => {
    const bytes = Uint8Array.from(atob(base64), (sign) => sign.charCodeAt(0));
    const bitmap = await createImageBitmap(new Blob([bytes], { type: "image/png" }));
    const canvas = new OffscreenCanvas(bitmap.width, bitmap.height);
    const context = canvas.getContext("2d");
    context.drawImage(bitmap, 0, 0);
    const { data, width, height } = context.getImageData(0, 0, bitmap.width, bitmap.height);
    const code = window.jsQR(data, width, height, { inversionAttempts: "dontInvert" });
    if (!code) return null;
    const isWhite = (x, y) => [0, 1, 2].every((at) => data[4 * (Math.round(y) * width + Math.round(x)) + at] > 250);
    const { topLeftCorner: from, topRightCorner: to } = code.location;
    const module = (to.x - from.x) / (17 + 4 * code.version);
    let free = 0;
    const middle = (from.y + code.location.bottomLeftCorner.y) / 2;
    while (free < from.x && [from.y + module / 2, middle].every((y) => isWhite(from.x - free - 2, y))) free += 1;
    return { text: code.data, pixels: module, quiet: (free + 2) / module };
  }, picture.toString("base64"));
  return found && { text: found.text, module: (found.pixels / SCALE) * MM, quiet: found.quiet };
}

if (isProgram(import.meta.url)) await runAsProgram(checkCodes);
