// Shows that the checks can fail: runs each of them over the planted faults and expects exactly the findings
// listed here, by file and name, no more and no fewer; and nothing over the planted good site. A check whose
// planted fault goes unseen, and a finding that nobody planted, both fail this test.
//
//   node tests/tools/selftest.mjs

import { spawnSync } from "node:child_process";
import path from "node:path";
import { fileURLToPath } from "node:url";
import { checkBook } from "./book.mjs";
import { checkCodes } from "./codes.mjs";
import { toolsFolder } from "./common.mjs";
import { checkJumps } from "./jumps.mjs";
import { checkLinks } from "./links.mjs";
import { checkMarkup } from "./markup.mjs";
import { checkNames } from "./names.mjs";
import { checkPages } from "./pages.mjs";
import { checkPins } from "./pins.mjs";
import { checkPrint } from "./print.mjs";
import { checkVocabulary } from "./vocabulary.mjs";

const planted = path.join(path.dirname(fileURLToPath(import.meta.url)), "planted");
const good = path.join(planted, "good");
const bad = path.join(planted, "bad");

// signs.py is Python: its findings are read from what it prints. Its planted page's faces are the theme's own.
function checkSigns() {
  const python = path.join(toolsFolder, "python", "bin", "python");
  const here = path.dirname(planted);
  const words = [path.join(here, "signs.py"), path.join(planted, "signs"), path.join(here, "../../diagrams/type"), "50000"];
  const { stdout, stderr, status } = spawnSync(python, words, { encoding: "utf8" });
  if (status !== 1) throw new Error(`signs.py ended with ${status}: ${stderr}`);
  const findings = stdout.split("\n").map((line) => line.match(/^(\S+): ([a-z-]+): (.*)$/)).filter(Boolean);
  return findings.map(([, where, name, detail]) => ({ where, name, detail: detail.replace(/^U\+(\w+).* stack (\w+).*$/, "$1 $2"), at: [] }));
}

const EVERYWHERE = "360 px light, 360 px dark, 1280 px light, 1280 px dark";
const ON_A_PHONE = "360 px light, 360 px dark";
const AT_NIGHT = "360 px dark, 1280 px dark";
const BY_DAY = "360 px light, 1280 px light";

const EXPECTED = [
  {
    check: "pages", run: async () => (await checkPages(bad, { everyView: true })).findings,
    finds: [
      "console-error.html: console-error",
      `invalid-markup.html: axe-list [${BY_DAY}]`,
      `low-contrast.html: axe-color-contrast [${EVERYWHERE}]`,
      `missing-alt.html: axe-image-alt [${BY_DAY}]`,
      "missing-picture.html: missing-file",
      "network-request.html: network-request",
      `no-viewport.html: no-viewport [${EVERYWHERE}]`,
      "outside-site.html: outside-site",
      `overflow-inside.html: overflow [${ON_A_PHONE}]`,
      `overflow.html: overflow [${ON_A_PHONE}]`,
      "page-error.html: page-error",
      `repeated-id.html: axe-duplicate-id [${BY_DAY}]`,
      `wrong-paper.html: wrong-paper [${AT_NIGHT}]`,
    ],
  },
  {
    check: "print", run: async () => (await checkPrint(bad)).findings,
    finds: ["guides/care/too-long.html: too-many-pages", "guides/care/wrong-size.html: not-a4"],
  },
  {
    check: "links", run: async () => (await checkLinks(bad)).findings,
    finds: [
      "bad.css: broken-link",
      "broken-link.html: broken-link",
      "dead-redirect.html: broken-link",
      "dead.svg: missing-fragment",
      "folder-link.html: folder-link",
      "missing-fragment.html: missing-fragment",
      "missing-picture.html: broken-link",
      "network-request.html: remote-load",
      "outside-site.html: outside-site",
      "repeated-id.html: repeated-id",
    ],
  },
  {
    check: "markup", run: async () => checkMarkup(bad).findings,
    finds: [
      "bad.css: markup-error",
      "dead.svg: markup-error",
      "invalid-markup.html: markup-error",
      "missing-alt.html: markup-error",
      "repeated-id.html: markup-error",
      "repeated-id.html: markup-warning",
    ],
  },
  {
    check: "names",
    run: async () => checkNames([".ci/run", "Cargo.toml", "NOTES.txt", "src/lib.rs", "tools/run", "themes/sheet/layouts/a.html"]),
    finds: ["NOTES.txt: top-level", "themes/sheet/layouts/a.html: foreign-folder", "tools: top-level"],
  },
  {
    check: "pins", run: async () => checkPins(path.join(planted, "pins")),
    finds: [
      "package-lock.json: names-a-host",
      "package-lock.json: no-hash",
      "package.json: loose-version",
      "requirements.txt: loose-version",
      "requirements.txt: no-hash",
    ],
  },
  {
    check: "signs", run: async () => checkSigns().map((finding) => ({ ...finding, at: finding.name === "no-sign" ? [finding.detail] : [] })),
    finds: [
      ".: too-heavy",
      "every-sign.html: no-sign [2603 label]",
      "every-sign.html: no-sign [2603 words]",
      "gone.woff2: face-missing",
      "in-a-drawing.html: no-sign [265E label]",
      "in-a-drawing.html: no-sign [265E words]",
      "in-a-drawing.html: no-sign-in-pictures",
      "in-a-formula.html: no-sign [0416 formulas]",
      "in-a-label.html: no-sign [00E9 label]",
      "in-a-script.html: no-sign [262F label]",
      "in-a-script.html: no-sign [262F words]",
      "in-words.html: no-sign [2744 label]",
      "in-words.html: no-sign [2744 words]",
      "unused.woff2: face-unused",
      "without-sheet.html: no-stylesheet",
    ],
  },
  { check: "jumps", run: async () => (await checkJumps(path.join(planted, "jumps"))).findings, finds: ["late-notice.html: jump [1440 px]", "late-notice.html: jump [360 px]"] },
  {
    check: "vocabulary", run: async () => (await checkVocabulary(path.join(planted, "data"))).findings,
    finds: [
      "guides/given-up.html: given-up-property",
      "guides/no-json.html: no-json",
      "guides/none.html: no-data",
      "guides/other-steps.html: other-steps",
      "guides/unknown-property.html: unknown-property",
      "guides/unknown-type.html: unknown-type",
      "guides/unknown-type.html: wrong-value",
      "guides/wrong-context.html: wrong-context",
      "guides/wrong-date.html: wrong-value",
      "guides/wrong-thing.html: wrong-value",
      "guides/wrong-time.html: wrong-value",
    ],
  },
  {
    check: "codes", run: async () => (await checkCodes(path.join(planted, "codes"))).findings,
    finds: [
      "guides/dark.html: unreadable-code",
      "guides/missing.html: no-code",
      "guides/no-quiet-zone.html: no-quiet-zone",
      "guides/on-screen.html: code-on-screen",
      "guides/other-address.html: wrong-code",
      "guides/small.html: small-code",
      "guides/wordless.html: code-without-words",
    ],
  },
  {
    check: "book", run: async () => checkBook(path.join(planted, "book-bad")).findings,
    finds: [
      "EPUB/gone.css: book-error-rsc-001",
      "EPUB/package.opf: book-warning-opf-053",
      "EPUB/sheet.xhtml: book-error-opf-014",
      "EPUB/sheet.xhtml: book-error-rsc-006",
      "EPUB/sheet.xhtml: book-error-rsc-007",
      "EPUB/sheet.xhtml: book-error-rsc-012",
    ],
  },
  { check: "pages, good site", run: async () => (await checkPages(good)).findings, finds: [] },
  { check: "print, good site", run: async () => (await checkPrint(good)).findings, finds: [] },
  { check: "links, good site", run: async () => (await checkLinks(good)).findings, finds: [] },
  { check: "markup, good site", run: async () => checkMarkup(good).findings, finds: [] },
  { check: "book, good one", run: async () => checkBook(path.join(planted, "book-good")).findings, finds: [] },
];

const inWords = ({ where, name, at }) => `${where}: ${name}${at?.length ? ` [${at.join(", ")}]` : ""}`;

let wrong = 0;
for (const { check, run, finds } of EXPECTED) {
  const found = await run();
  const names = found.map(inWords).sort();
  const unseen = finds.filter((text) => !names.includes(text));
  const unplanted = found.filter((finding) => !finds.includes(inWords(finding)));
  const repeated = names.filter((text, index) => names.indexOf(text) !== index);
  for (const text of unseen) console.log(`${check}: planted but not found: ${text}`);
  for (const finding of unplanted) console.log(`${check}: found but not planted: ${inWords(finding)}: ${finding.detail}`);
  for (const text of repeated) console.log(`${check}: found twice: ${text}`);
  const faults = unseen.length + unplanted.length + repeated.length;
  console.log(`${check}: ${finds.length} expected, ${found.length} found, ${faults === 0 ? "as planted" : "NOT as planted"}`);
  wrong += faults;
}
process.exitCode = wrong === 0 ? 0 : 1;
