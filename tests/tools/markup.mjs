// Holds every page, stylesheet and drawing of a pressed site to the web's own grammar, with the Nu checker run
// from its jar, offline. Its warnings count like its errors. The checker's words are passed on as they are.
//
//   node tests/tools/markup.mjs SITE_DIR

import { spawnSync } from "node:child_process";
import path from "node:path";
import { fileURLToPath } from "node:url";
import { filesOf, isProgram, requirePinned, runAsProgram } from "./common.mjs";

const CHECKED = [".html", ".htm", ".xhtml", ".xht", ".css", ".svg"];

// A page is written so that it is XHTML too, for the editions that need it: its voids close themselves.
const ALLOWED = /^Trailing slash on void elements has no effect/;

/** Runs the checker once over all files; typefaces and the marker are none of its business. */
export function checkMarkup(site) {
  const files = filesOf(site, CHECKED);
  const jar = path.join(path.dirname(requirePinned.resolve("vnu-jar/package.json")), "build/dist/vnu.jar");
  const run = spawnSync(
    "java",
    ["-jar", jar, "--stdout", "--format", "json", "--also-check-css", "--also-check-svg", ...files.map((name) => path.join(site, name))],
    { encoding: "utf8", maxBuffer: 256 * 1024 * 1024 },
  );
  if (run.error) throw run.error;
  let report;
  try {
    report = JSON.parse(run.stdout);
  } catch {
    throw new Error(`the Nu checker did not answer (status ${run.status}): ${run.stderr || run.stdout}`);
  }
  const wrong = report.messages.filter(({ message }) => !ALLOWED.test(message));
  const findings = wrong.map((message) => asFinding(site, message));
  if (run.status !== 0 && findings.length === 0) throw new Error(`the Nu checker failed: ${run.stderr}`);
  return { findings, looked: `${files.length} files (pages, stylesheets, drawings)` };
}

function asFinding(site, { url, lastLine, lastColumn, type, subType, message }) {
  const where = url ? path.relative(site, fileURLToPath(url)) : ".";
  const kind = type === "info" ? (subType ?? "info") : type;
  return { where, name: `markup-${kind}`, detail: `${lastLine ?? 1}:${lastColumn ?? 1}: ${message}` };
}

if (isProgram(import.meta.url)) await runAsProgram(checkMarkup);
