// Holds the pressed book to EPUB 3.3 with EPUBCheck, run from its jar, offline. Its warnings count like its errors, and
// its words are passed on as they are. It can't say whether the book reads well: that is for an eye to say.
//
//   node tests/tools/book.mjs SITE_DIR

import { spawnSync } from "node:child_process";
import { existsSync, readdirSync, statSync } from "node:fs";
import path from "node:path";
import { isProgram, runAsProgram, toolsFolder } from "./common.mjs";

const BOOK = "editions/library.epub";
const COUNTED = ["FATAL", "ERROR", "WARNING"];

/** Where pip has put the checker's jar. */
function jar() {
  const libraries = path.join(toolsFolder, "python", "lib");
  const folders = existsSync(libraries) ? readdirSync(libraries) : [];
  const found = folders.map((name) => path.join(libraries, name, "site-packages/epubcheck/epubcheck.jar")).find((file) => existsSync(file));
  if (!found) throw new Error(`there is no epubcheck.jar below ${libraries}: run tests/run, which installs it`);
  return found;
}

/** Checks one book: an EPUB file, or the unpacked folder of one. */
export function checkBook(book) {
  if (!existsSync(book)) return { findings: [{ where: BOOK, name: "no-book", detail: "there is no book" }], looked: "0 books" };
  const mode = statSync(book).isDirectory() ? ["--mode", "exp"] : [];
  const run = spawnSync("java", ["-jar", jar(), ...mode, "--json", "-", book], { encoding: "utf8", maxBuffer: 256 * 1024 * 1024 });
  if (run.error) throw run.error;
  let report;
  try {
    report = JSON.parse(run.stdout.slice(run.stdout.indexOf("{")));
  } catch {
    throw new Error(`EPUBCheck did not answer (status ${run.status}): ${run.stderr || run.stdout}`);
  }
  const wrong = report.messages.filter(({ severity }) => COUNTED.includes(severity));
  const findings = wrong.flatMap((message) => asFindings(message));
  if (run.status !== 0 && findings.length === 0) throw new Error(`EPUBCheck failed: ${run.stderr}`);
  const { publication, items } = report;
  const spine = items.filter(({ isSpineItem }) => isSpineItem).length;
  const of = (severity) => report.messages.filter((message) => message.severity === severity).length;
  return {
    findings,
    looked: `EPUB ${publication.ePubVersion}: ${items.length} files, ${spine} of them pages; ${of("ERROR") + of("FATAL")} errors, ${of("WARNING")} warnings`,
  };
}

/** One finding for each place that a message names. */
function asFindings({ ID, severity, message, locations }) {
  const name = `book-${severity.toLowerCase()}-${ID.toLowerCase()}`;
  const places = locations.length > 0 ? locations : [{ path: ".", line: 0, column: 0 }];
  return places.map(({ path: file, line, column }) => {
    const where = path.basename(file) === path.basename(BOOK) ? "." : file;
    return { where, name, detail: line > 0 ? `${line}:${column}: ${message}` : message };
  });
}

if (isProgram(import.meta.url)) await runAsProgram((site) => checkBook(path.join(site, BOOK)));
