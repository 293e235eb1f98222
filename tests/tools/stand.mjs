// A technician's screen: `stand` in the reader's browser follows each save, keeps the last good sheet under a
// fault and says which fault it is, in a tag at the foot of the sheet, until it is mended.
//
//   node tests/tools/stand.mjs PROGRAM

import { spawn, spawnSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import path from "node:path";
import { createInterface } from "node:readline";
import { launchChromium } from "./common.mjs";

const LONGEST = 20_000;
const PAGE = "guides/drivetrain/chain-after-chainring";

const program = process.argv[2];
if (!program || process.argv.length > 3) {
  console.error("usage: node stand.mjs PROGRAM");
  process.exit(2);
}

const folder = mkdtempSync(path.join(tmpdir(), "locknut-screen-"));
const laid = spawnSync(program, ["fit-out", folder], { encoding: "utf8" });
if (laid.status !== 0) throw new Error(laid.stderr);
const stand = spawn(program, ["stand", "--port", "0", "--library", folder], { stdio: ["ignore", "pipe", "inherit"] });
const browser = await launchChromium();
let looked = 0;

/** The address that `stand` says in its first line. */
async function address() {
  for await (const line of createInterface({ input: stand.stdout })) {
    const found = line.match(/http:\/\/127\.0\.0\.1:\d+\//);
    if (found) return found[0];
  }
  throw new Error("stand said no address");
}

/** Waits until the page on the screen is as `test` says; `what` is for the person who reads that it never was. */
async function until(page, what, test, value) {
  try {
    await page.waitForFunction(test, value, { timeout: LONGEST });
    looked += 1;
  } catch {
    throw new Error(`the screen never showed: ${what}`);
  }
}

try {
  const page = await browser.newPage();
  const asked = [];
  page.on("request", (request) => asked.push(request.url()));
  const base = await address();
  await page.goto(`${base}${PAGE}.html`);
  const file = path.join(folder, "content", `${PAGE}.md`);
  const good = readFileSync(file, "utf8");
  const shows = (words) => document.body.innerText.includes(words);

  writeFileSync(file, good.replace(/^title: .*$/m, "title: A save reaches the screen"));
  await until(page, "the saved title", shows, "A save reaches the screen");

  writeFileSync(file, good.replace(/^ {2}chainstay: .*$/m, "  chainstay: 41 mm"));
  await until(page, "the fault, with its id", (id) => document.querySelector("[role=status]")?.innerText.includes(id), "out-of-range");
  await until(page, "the last good sheet above the fault", shows, "A save reaches the screen");
  const overflow = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
  if (overflow > 0) throw new Error(`the tag makes the page ${overflow} px wider than the window`);

  writeFileSync(file, good.replace(/^title: .*$/m, "title: Mended again"));
  await until(page, "the mended page", shows, "Mended again");
  await until(page, "no tag any more", () => document.querySelector("[role=status]") === null);

  const workers = await page.evaluate(async () => (await navigator.serviceWorker.getRegistrations()).length);
  if (workers > 0 || asked.some((url) => /edition\.json|service-worker/.test(url))) throw new Error("the screen keeps pages that change with every save");
  looked += 1;

  const away = asked.filter((url) => !url.startsWith(base));
  if (away.length > 0) throw new Error(`the screen asked elsewhere: ${away.join(", ")}`);
  console.log(`${looked} things seen on the screen; nothing found`);
} catch (error) {
  console.log(error.message);
  process.exitCode = 1;
} finally {
  await browser.close();
  stand.kill();
  rmSync(folder, { recursive: true, force: true });
}
