// Reads the repository's file list (one path a line on standard input) and says which names don't belong: at the
// top level only the agreed ones and dotfiles, and nowhere a folder named after what other programs call theirs.
//
//   git ls-files | node tests/tools/names.mjs

import { readFileSync } from "node:fs";
import { isProgram } from "./common.mjs";

const TOP_LEVEL = new Set([
  "Cargo.toml", "Cargo.lock", "README.md", "DEVELOPERS.md", "LICENSE",
  "src", "content", "themes", "diagrams", "tests", "benches",
]);
const FOREIGN_FOLDERS = new Set(["static", "layouts", "templates", "archetypes", "public", "draft", "weight", "tags", "slug"]);

/** The findings over a list of paths. */
export function checkNames(paths) {
  const findings = [];
  const tops = new Set(paths.map((name) => name.split("/")[0]));
  for (const top of tops) {
    if (!top.startsWith(".") && !TOP_LEVEL.has(top)) findings.push({ where: top, name: "top-level", detail: "not one of the agreed names" });
  }
  for (const name of paths) {
    const folder = name.split("/").slice(0, -1).find((part) => FOREIGN_FOLDERS.has(part));
    if (folder) findings.push({ where: name, name: "foreign-folder", detail: `a folder named ${folder}` });
  }
  return findings;
}

if (isProgram(import.meta.url)) {
  const paths = readFileSync(0, "utf8").split("\n").filter(Boolean);
  const findings = checkNames(paths);
  for (const { where, name, detail } of findings) console.log(`${where}: ${name}: ${detail}`);
  console.log(`${paths.length} paths; ${findings.length === 0 ? "nothing found" : `${findings.length} found`}`);
  process.exitCode = paths.length > 0 && findings.length === 0 ? 0 : 1;
}
