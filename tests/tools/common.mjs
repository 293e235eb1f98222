// What the page checks share: where the pinned packages lie, which files a pressed site has, how a finding is
// printed, and the one way in which each browser is started. A finding is {where, name, detail, at}: the file
// beneath the site, the fault's kebab-case name, words for a person, and (for browser checks) in which views.
// Nothing here decides what is a fault.

import { createRequire } from "node:module";
import { existsSync, readdirSync, readFileSync, realpathSync, statSync } from "node:fs";
import path from "node:path";
import { fileURLToPath } from "node:url";

const here = path.dirname(fileURLToPath(import.meta.url));

/** The folder that the install stage of tests/run fills: git-ignored, rebuilt from the pins. */
export const toolsFolder = process.env.LOCKNUT_TEST_TOOLS ?? path.resolve(here, "../../target/test-tools");

/** Loads one of the pinned packages. */
export const requirePinned = createRequire(path.join(toolsFolder, "node", "package.json"));

/** Files beneath `folder` whose name ends in one of `endings`, as sorted paths relative to it with `/`. */
export function filesOf(folder, endings) {
  return readdirSync(folder, { recursive: true })
    .map((name) => name.split(path.sep).join("/"))
    .filter((name) => endings.some((ending) => name.endsWith(ending)))
    .filter((name) => statSync(path.join(folder, name)).isFile())
    .sort();
}

/** The text of a file beneath the site. */
export const textOf = (site, name) => readFileSync(path.join(site, name), "utf8");

/** Whether the page only sends its reader on to another address (a renamed guide leaves one). */
export const isRedirect = (text) => /<meta[^>]+http-equiv\s*=\s*["']?refresh/i.test(text);

/** Starts Debian's Chromium, told to ask the network for nothing of its own. */
export async function launchChromium() {
  const { chromium } = requirePinned("playwright-core");
  return chromium.launch({
    executablePath: process.env.LOCKNUT_CHROMIUM ?? "/usr/bin/chromium",
    args: [
      "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
      "--disable-background-networking", "--disable-component-update", "--disable-sync",
      "--disable-dev-shm-usage",
    ],
  });
}

/** Starts Debian's Firefox, which treats files from the disk as it does for a reader. */
export async function launchFirefox() {
  const { default: puppeteer } = await import(requirePinned.resolve("puppeteer-core"));
  return puppeteer.launch({
    browser: "firefox",
    executablePath: process.env.LOCKNUT_FIREFOX ?? "/usr/bin/firefox-esr",
    headless: true,
    // Automation switches this one off, and what a reader may not do would pass.
    extraPrefsFirefox: { "security.fileuri.strict_origin_policy": true },
  });
}

/** Runs `work` over `items`, at most `width` at a time; results in the order of the items. */
export async function inParallel(items, width, work) {
  const results = new Array(items.length);
  let next = 0;
  const worker = async () => {
    while (next < items.length) {
      const mine = next++;
      results[mine] = await work(items[mine], mine);
    }
  };
  await Promise.all(Array.from({ length: Math.min(width, items.length) }, worker));
  return results;
}

/** The same with pages of a browser, as `open` makes them, that are used again: a new one is a new process. */
export async function inPages(items, width, open, work) {
  const free = await Promise.all(Array.from({ length: width }, open));
  return inParallel(items, width, async (item, place) => {
    const page = free.pop();
    try {
      return await work(page, item, place);
    } finally {
      free.push(page);
    }
  });
}

/** Joins findings that differ only in the view (width, light or dark) in which they were seen. */
export function joinViews(findings) {
  const joined = new Map();
  for (const { at, ...finding } of findings) {
    const key = JSON.stringify(finding);
    if (!joined.has(key)) joined.set(key, { ...finding, at: [] });
    if (at && !joined.get(key).at.includes(at)) joined.get(key).at.push(at);
  }
  return [...joined.values()];
}

/** Whether this module is the program that was started, and not one that another imported. */
export const isProgram = (url) => process.argv[1] && realpathSync(process.argv[1]) === fileURLToPath(url);

/**
 * The command line that every check over a site has: `node CHECK.mjs SITE_DIR`. `check(site)` gives
 * {findings, looked}; `looked` says in words what was looked at. A site without pages is a fault, not a pass.
 */
export async function runAsProgram(check) {
  const site = process.argv[2];
  if (!site || process.argv.length > 3) {
    console.error(`usage: node ${path.basename(process.argv[1])} SITE_DIR`);
    process.exit(2);
  }
  if (!existsSync(site) || filesOf(site, [".html"]).length === 0) {
    console.error(`${site} holds no .html page: nothing was checked`);
    process.exit(1);
  }
  const { findings, looked } = await check(path.resolve(site));
  for (const { where, name, detail, at } of findings) {
    console.log(`${where}: ${name}: ${detail}${at?.length ? ` [${at.join(", ")}]` : ""}`);
  }
  console.log(`${looked}; ${findings.length === 0 ? "nothing found" : `${findings.length} found`}`);
  process.exitCode = findings.length === 0 ? 0 : 1;
}
