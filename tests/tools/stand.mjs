// A technician's screen: `stand` in the reader's browser follows each save. A stated figure that changes on the disk is seen on
// the open page, in its place and without a frame in which the page is gone; a fault hangs as a tag until it is mended;
// and after half a minute of files renamed, deleted, half written and flooded the page is that of a fresh press.
//
//   node tests/tools/stand.mjs PROGRAM [SECONDS]
//
// The seconds are those of the flood, 30 where nothing is said. Times are printed and held to nothing.

import { spawn, spawnSync } from "node:child_process";
import { existsSync, mkdtempSync, readFileSync, renameSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import path from "node:path";
import { createInterface } from "node:readline";
import { pathToFileURL } from "node:url";
import { launchChromium } from "./common.mjs";

const LONGEST = 20_000;
const PAGE = "guides/drivetrain/chain-after-chainring";
const EDITS = 8;

const program = process.argv[2];
const seconds = Number(process.argv[3] ?? 30);
if (!program || !(seconds >= 0) || process.argv.length > 4) {
  console.error("usage: node stand.mjs PROGRAM [SECONDS]");
  process.exit(2);
}

const folder = mkdtempSync(path.join(tmpdir(), "locknut-screen-"));
const laid = spawnSync(program, ["fit-out", folder], { encoding: "utf8" });
if (laid.status !== 0) throw new Error(laid.stderr);
// Who signs is not at the bench: what differs from the register is no matter here.
rmSync(path.join(folder, "content/register.yaml"), { force: true });
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

function expect(what, is) {
  if (!is) throw new Error(what);
  looked += 1;
}

const file = (name) => path.join(folder, "content", name);
const shows = (words) => document.querySelector(".paper").innerText.replaceAll("\u00a0", " ").includes(words);

/** The page as a browser has it once its scripts have run, all but the edition's mark. */
const sheetOf = (page) => page.evaluate(() => {
  const sheet = document.querySelector(".paper").cloneNode(true);
  // An edition's mark tells which press it was, and the two are compared for what they say.
  sheet.querySelectorAll(".edition").forEach((place) => place.remove());
  return sheet.outerHTML;
});

/** A stated figure is edited over and over, with the page scrolled and a working opened. */
async function editStated(page) {
  const stock = file("stated/stock.yaml");
  const good = readFileSync(stock, "utf8");
  await page.evaluate(() => {
    document.querySelector("details.working").open = true;
    const place = document.querySelector("#op-30") ?? document.querySelector("#op-20");
    window.scrollTo({ top: place.getBoundingClientRect().top + scrollY - 120, behavior: "instant" });
    window.here = true;
    window.frames = [];
    const look = () => {
      const sheet = document.querySelector(".paper");
      window.frames.push([Boolean(sheet && sheet.querySelector("h1") && sheet.getBoundingClientRect().height > 500), Math.round(scrollY)]);
      requestAnimationFrame(look);
    };
    requestAnimationFrame(look);
  });
  const before = await page.evaluate(() => Math.round(scrollY));
  const times = [];
  for (let turn = 0; turn < EDITS; turn += 1) {
    const links = `${118 + 2 * turn} links`;
    const seen = page.evaluate((words) => new Promise((done) => {
      const look = () => {
        const sheet = document.querySelector(".paper");
        if (sheet && sheet.innerText.replaceAll("\u00a0", " ").includes(words)) done(Date.now());
        else requestAnimationFrame(look);
      };
      look();
    }), links);
    await new Promise((done) => setTimeout(done, 300));
    const saved = Date.now();
    writeFileSync(stock, good.replace("116 links", links));
    times.push((await seen) - saved);
  }
  const { here, frames, opened } = await page.evaluate(() => ({
    here: window.here, frames: window.frames, opened: document.querySelector("details.working").open,
  }));
  expect("the page was loaded anew", here === true);
  expect("there was a frame without the page", frames.length > EDITS && frames.every(([there]) => there));
  const places = new Set(frames.map(([, place]) => place));
  expect(`the page left its place: ${[...places].join(", ")} after ${before}`, places.size === 1 && places.has(before));
  expect("what was opened was shut", opened);
  times.sort((one, other) => one - other);
  console.log(`from a save of a stated figure to the screen: ${times[0]} to ${times.at(-1)} ms, middle ${times[EDITS >> 1]}, ${EDITS} saves, ${frames.length} frames`);
  writeFileSync(stock, good);
}

/** Half a minute in which nothing is as it should be; at the end everything is again, a little changed. */
async function flood(page) {
  const names = [`${PAGE}.md`, "guides/drivetrain/chain-longer-cage.md", "stated/stock.yaml", "shop.yaml", "shelf/cassette.yaml", "bikes/roadster.yaml", "faults/creak.yaml"];
  const good = new Map(names.map((name) => [name, readFileSync(file(name), "utf8")]));
  let seed = 20261126;
  const random = (below) => {
    seed = (seed * 1103515245 + 12345) % 2147483648;
    return Math.floor((seed / 2147483648) * below);
  };
  const theme = path.join(folder, "themes/sheet");
  const ways = [
    (name, text) => writeFileSync(file(name), text.slice(0, random(text.length))),
    (name) => rmSync(file(name), { force: true }),
    (name) => { if (existsSync(file(name))) renameSync(file(name), `${file(name)}.old`); },
    (name, text) => { writeFileSync(`${file(name)}.tmp`, text); renameSync(`${file(name)}.tmp`, file(name)); },
    (name, text) => { for (let turn = 0; turn < 12; turn += 1) writeFileSync(file(name), `${text}\n${" ".repeat(turn)}`); },
    (name, text) => writeFileSync(file(name), text.replace(/5/g, "4")),
    (name, text) => writeFileSync(file(name), text.replace("revision: ", "revision: [")),
    () => writeFileSync(file("guides/drivetrain/passing.md"), "---\ntitle: Passing\n"),
    () => { spawnSync("mkdir", ["-p", theme]); writeFileSync(path.join(theme, "figure.html"), random(2) ? "{% broken" : "<b>{{ html }}</b>"); },
    () => rmSync(path.join(folder, "themes"), { recursive: true, force: true }),
  ];
  const ends = Date.now() + seconds * 1000;
  let turns = 0;
  while (Date.now() < ends) {
    const name = names[random(names.length)];
    ways[random(ways.length)](name, good.get(name));
    if (random(3) === 0) writeFileSync(file(name), good.get(name));
    turns += 1;
    await new Promise((done) => setTimeout(done, random(60)));
  }
  rmSync(path.join(folder, "themes"), { recursive: true, force: true });
  rmSync(file("guides/drivetrain/passing.md"), { force: true });
  for (const name of names) {
    rmSync(`${file(name)}.old`, { force: true });
    rmSync(`${file(name)}.tmp`, { force: true });
    writeFileSync(file(name), good.get(name));
  }
  writeFileSync(file("stated/stock.yaml"), good.get("stated/stock.yaml").replace("116 links", "122 links"));
  await until(page, "the last save", shows, "122 links");
  await until(page, "no tag after the last save", () => document.querySelector("[role=status]") === null);

  const site = path.join(folder, "fresh");
  const pressed = spawnSync(program, ["press", "--library", folder, "--into", site], { encoding: "utf8" });
  if (pressed.status !== 0) throw new Error(pressed.stderr);
  const wanted = readFileSync(path.join(site, `${PAGE}.html`), "utf8");
  // The lists and the edition's mark come a little after the page.
  const edition = JSON.parse(readFileSync(path.join(site, "edition.json"), "utf8")).edition;
  await until(page, "the mark of the fresh press", (mark) => document.querySelector(".edition").textContent.includes(mark), edition);
  const served = await (await fetch(page.url())).text();
  const bare = served.replace(/<script src="\/stand\/follow\.js"[^>]*><\/script>/, "");
  expect("what is served is not what a fresh press writes", bare === wanted);
  const fresh = await browser.newPage();
  await fresh.goto(pathToFileURL(path.join(site, `${PAGE}.html`)).href);
  const shut = () => document.querySelectorAll("details").forEach((one) => { one.open = false; });
  await Promise.all([page.evaluate(shut), fresh.evaluate(shut)]);
  expect("the page on the screen is not that of a fresh press", (await sheetOf(page)) === (await sheetOf(fresh)));
  const index = await (await fetch(new URL("/index.html", page.url()))).text();
  const wantedIndex = readFileSync(path.join(site, "index.html"), "utf8");
  expect("the front page is not that of a fresh press", index.replace(/<script src="\/stand\/follow\.js"[^>]*><\/script>/, "") === wantedIndex);
  console.log(`${turns} turns of files renamed, deleted, half written and flooded in ${seconds} s`);
}

try {
  const page = await browser.newPage();
  const asked = [];
  page.on("request", (request) => asked.push(request.url()));
  const base = await address();
  await page.goto(`${base}${PAGE}.html`);
  await editStated(page);

  const guide = file(`${PAGE}.md`);
  const good = readFileSync(guide, "utf8");
  writeFileSync(guide, good.replace(/^title: .*$/m, "title: A save reaches the screen"));
  await until(page, "the saved title", shows, "A save reaches the screen");
  await until(page, "the saved title in the window's", () => document.title.includes("A save reaches the screen"));

  writeFileSync(guide, good.replace(/^ {2}chainstay: .*$/m, "  chainstay: 41 mm"));
  await until(page, "the fault, with its id", (id) => document.querySelector("[role=status]")?.innerText.includes(id), "out-of-range");
  await until(page, "the last good sheet above the fault", shows, "A save reaches the screen");
  const overflow = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
  expect(`the tag makes the page ${overflow} px wider than the window`, overflow <= 0);

  writeFileSync(guide, good.replace(/^title: .*$/m, "title: Mended again"));
  await until(page, "the mended page", shows, "Mended again");
  await until(page, "no tag any more", () => document.querySelector("[role=status]") === null);

  // A reader's own numbers still work on a sheet that was laid over another.
  writeFileSync(guide, good);
  await until(page, "the page as it was", shows, "Size a chain after changing");
  await until(page, "a form for the reader's own numbers", () => document.querySelector(".own-numbers input") !== null);

  renameSync(guide, `${guide}.away`);
  await until(page, "that the sheet is gone", () => document.querySelector("[role=status]")?.innerText.includes("This sheet is gone"));
  renameSync(`${guide}.away`, guide);
  await until(page, "that it is there again", () => document.querySelector("[role=status]") === null);

  if (seconds > 0) await flood(page);

  const workers = await page.evaluate(async () => (await navigator.serviceWorker.getRegistrations()).length);
  expect("the screen keeps pages that change with every save", workers === 0 && !asked.some((url) => /edition\.json|service-worker/.test(url)));
  const away = asked.filter((url) => !url.startsWith(base));
  expect(`the screen asked elsewhere: ${away.join(", ")}`, away.length === 0);
  console.log(`${looked} things seen on the screen; nothing found`);
} catch (error) {
  console.log(error.message);
  process.exitCode = 1;
} finally {
  await browser.close();
  stand.kill();
  rmSync(folder, { recursive: true, force: true });
}
