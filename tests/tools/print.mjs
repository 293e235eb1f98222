// Prints every guide to PDF with the reader's browser and measures the paper: one guide is one or two A4 sheets
// fit for a bench. It counts pages and checks their size; whether they look right is for an eye to say.
//
//   node tests/tools/print.mjs SITE_DIR

import path from "node:path";
import { pathToFileURL } from "node:url";
import { filesOf, inPages, isProgram, isRedirect, launchChromium, runAsProgram, textOf } from "./common.mjs";

const MOST_PAGES = 2;
const A4_POINTS = { width: 595.28, height: 841.89 };
const AT_ONCE = 2;

/** Prints each page below guides/ (redirects aside). */
export async function checkPrint(site) {
  const guides = filesOf(site, [".html"])
    .filter((name) => /(^|\/)guides\//.test(name))
    .filter((name) => !isRedirect(textOf(site, name)));
  if (guides.length === 0) {
    return { findings: [{ where: "guides/", name: "no-guides", detail: "no page to print" }], looked: "0 guides" };
  }
  const browser = await launchChromium();
  try {
    const context = await browser.newContext({ serviceWorkers: "block" });
    await context.route(/^(?!file:|data:)/, (route) => route.abort());
    const lists = await inPages(guides, AT_ONCE, () => context.newPage(), (page, name) => checkGuide(page, site, name));
    return { findings: lists.flat(), looked: `${guides.length} guides printed` };
  } finally {
    await browser.close();
  }
}

async function checkGuide(page, site, name) {
  try {
    await page.goto(pathToFileURL(path.join(site, name)).href, { waitUntil: "load" });
    await page.evaluate(() => document.fonts.ready.then(() => true));
    const sizes = pageSizes(await page.pdf({ format: "A4", preferCSSPageSize: true, printBackground: true }));
    return [...tooLong(name, sizes), ...wrongSize(name, sizes)];
  } catch (error) {
    return [{ where: name, name: "not-checked", detail: error.message }];
  }
}

/** Width and height in points of each page. Chromium writes page objects in the clear, one box each. */
export function pageSizes(pdf) {
  const text = pdf.toString("latin1");
  const pages = [...text.matchAll(/\/Type\s*\/Page\b[\s\S]*?\/MediaBox\s*\[([^\]]+)\]/g)];
  const declared = [...text.matchAll(/\/Type\s*\/Pages\b[\s\S]{0,200}?\/Count\s+(\d+)/g)].map((m) => Number(m[1]));
  if (pages.length === 0 || pages.length !== Math.max(...declared)) {
    throw new Error(`the PDF's pages can't be counted: ${pages.length} boxes, counts ${declared.join(", ")}`);
  }
  return pages.map(([, box]) => {
    const [left, bottom, right, top] = box.trim().split(/\s+/).map(Number);
    return { width: right - left, height: top - bottom };
  });
}

const tooLong = (name, sizes) =>
  sizes.length <= MOST_PAGES
    ? []
    : [{ where: name, name: "too-many-pages", detail: `${sizes.length} A4 pages, at most ${MOST_PAGES}` }];

function wrongSize(name, sizes) {
  const near = (a, b) => Math.abs(a - b) < 1.5;
  const isA4 = ({ width, height }) =>
    (near(width, A4_POINTS.width) && near(height, A4_POINTS.height)) ||
    (near(width, A4_POINTS.height) && near(height, A4_POINTS.width));
  const wrong = sizes.find((size) => !isA4(size));
  return wrong ? [{ where: name, name: "not-a4", detail: `${wrong.width} × ${wrong.height} pt` }] : [];
}

if (isProgram(import.meta.url)) await runAsProgram(checkPrint);
