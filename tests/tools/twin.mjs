// The formulas of a page, worked in two readers' browsers, against what Rust worked: the same text to the last digit,
// the same limits, the same reason where there is no answer; to the bit where only + − × ÷ √ and whole powers are
// used, within 1e-12 elsewhere.
//
//   node tests/tools/twin.mjs FOLDER

import { readFileSync, writeFileSync } from "node:fs";
import path from "node:path";
import { pathToFileURL } from "node:url";
import { launchChromium, launchFirefox } from "./common.mjs";

const folder = process.argv[2];
if (!folder) {
  console.error("usage: node twin.mjs FOLDER");
  process.exit(2);
}
const formulas = JSON.parse(readFileSync(path.join(folder, "cases.json"), "utf8"));
writeFileSync(
  path.join(folder, "page.html"),
  '<!DOCTYPE html><html lang="en"><head><meta charset="utf-8"><title>t</title></head><body><script src="engine.js"></script><script src="formulas.js"></script></body></html>\n',
);

/** Runs in the page: every difference in words, and counts. */
function compare(formulas) {
  const found = [];
  const counts = { formulas: 0, cases: 0, texts: 0, exact: 0, near: 0, unanswered: 0, farthest: 0 };
  for (const { id, exact, cases } of formulas) {
    const formula = locknut.known[id];
    if (!formula) {
      found.push(`${id}: the page doesn't know it`);
      continue;
    }
    counts.formulas += 1;
    for (const one of cases) {
      const tell = (what) => found.push(`${id}: ${what} for ${JSON.stringify(one.given)}`);
      const base = one.given.map((number, place) => locknut.toBase(formula.inputs[place].unit, number));
      const result = locknut.work(formula, base);
      const spoken = (result.spoken ?? []).map((place) => formula.limits[place].name);
      counts.cases += 1;
      if (!one.texts) {
        counts.unanswered += 1;
        if (one.why !== result.why) tell(`no answer because ${result.why}, not ${one.why}`);
        if (one.stopped && (!result.stopped || spoken.join() !== one.stopped.join())) tell("a limit should stop it");
        continue;
      }
      if (result.why || result.stopped) {
        tell(`no answer: ${result.why ?? spoken}`);
        continue;
      }
      if (spoken.join() !== one.spoken.join()) tell(`limits ${spoken}, not ${one.spoken}`);
      base.forEach((value, place) => {
        if (value !== one.base[place]) tell(`input ${place} is ${value}, not ${one.base[place]}`);
      });
      result.steps.forEach((value, place) => {
        const wanted = one.steps[place];
        const off = value === wanted ? 0 : Math.abs(value - wanted) / Math.max(Math.abs(value), Math.abs(wanted));
        counts.farthest = Math.max(counts.farthest, off);
        if (exact ? value !== wanted : off > 1e-12) tell(`step ${place} is ${value}, not ${wanted}`);
      });
      counts[exact ? "exact" : "near"] += 1;
      formula.outputs.forEach((output, place) => {
        counts.texts += 1;
        const text = locknut.text(result.steps[output.step], output);
        if (text !== one.texts[place]) tell(`${output.name} is ${text}, not ${one.texts[place]}`);
      });
    }
  }
  return { found, counts };
}

/** Every difference that one browser shows, told in words; whether there is none. */
async function check(name, launch) {
  const browser = await launch();
  try {
    const page = await browser.newPage();
    const errors = [];
    page.on("pageerror", (error) => errors.push(String(error)));
    await page.goto(pathToFileURL(path.join(folder, "page.html")).href);
    const { found, counts } = await page.evaluate(compare, formulas);
    // Silence counts only if one wrong digit is seen.
    const planted = structuredClone(formulas.slice(0, 1));
    const first = planted[0].cases.find((one) => one.texts);
    first.texts[0] = first.texts[0].replace(/\d(?=\D*$)/, (digit) => String((Number(digit) + 1) % 10));
    const seen = await page.evaluate(compare, planted);
    if (seen.found.length !== 1) found.push(`a planted wrong digit was seen ${seen.found.length} times`);
    const faults = [...errors, ...found];
    for (const line of faults.slice(0, 40)) console.log(`${name}: ${line}`);
    const { formulas: known, cases, texts, exact, near, unanswered, farthest } = counts;
    console.log(
      `${name}: ${known} formulas, ${cases} random input sets (${exact} to the bit, ${near} within 1e-12: farthest ` +
        `${farthest.toExponential(1)}, ${unanswered} without an answer), ${texts} texts; ` +
        (faults.length === 0 ? "nothing found" : `${faults.length} found`),
    );
    return faults.length === 0 && known === formulas.length;
  } finally {
    await browser.close();
  }
}

const agree = [await check("Chromium", launchChromium), await check("Firefox", launchFirefox)];
process.exitCode = agree.every(Boolean) ? 0 : 1;
