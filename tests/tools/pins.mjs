// Holds the pins of the check tools to their word: the npm lock file and the Python requirements name no host to
// fetch from (each machine has its own), every package is fixed to one version, and every one has its hash.
//
//   node tests/tools/pins.mjs [FOLDER]     FOLDER holds package.json, package-lock.json, requirements.txt

import { readFileSync } from "node:fs";
import path from "node:path";
import { fileURLToPath } from "node:url";
import { isProgram } from "./common.mjs";

/** The findings over one folder of pins. */
export function checkPins(folder) {
  const read = (name) => readFileSync(path.join(folder, name), "utf8");
  const findings = [];
  for (const name of ["package.json", "package-lock.json", "requirements.txt"]) {
    const address = read(name).match(/\w+:\/\/[^\s"]+|--(extra-)?index-url/);
    if (address) findings.push({ where: name, name: "names-a-host", detail: address[0] });
  }
  for (const [name, version] of Object.entries(JSON.parse(read("package.json")).dependencies ?? {})) {
    if (!/^\d+\.\d+\.\d+$/.test(version)) findings.push({ where: "package.json", name: "loose-version", detail: `${name} ${version}` });
  }
  for (const [name, entry] of Object.entries(JSON.parse(read("package-lock.json")).packages)) {
    if (name && !entry.integrity) findings.push({ where: "package-lock.json", name: "no-hash", detail: name });
  }
  const requirements = read("requirements.txt").replace(/\\\n/g, " ").split("\n").map((line) => line.trim());
  for (const line of requirements.filter((text) => text && !text.startsWith("#"))) {
    if (!/^[\w.-]+==[\w.]+\s/.test(line)) findings.push({ where: "requirements.txt", name: "loose-version", detail: line });
    if (!/--hash=sha256:[0-9a-f]{64}/.test(line)) findings.push({ where: "requirements.txt", name: "no-hash", detail: line });
  }
  return findings;
}

if (isProgram(import.meta.url)) {
  const findings = checkPins(process.argv[2] ?? path.dirname(fileURLToPath(import.meta.url)));
  for (const { where, name, detail } of findings) console.log(`${where}: ${name}: ${detail}`);
  console.log(findings.length === 0 ? "pins: nothing found" : `pins: ${findings.length} found`);
  process.exitCode = findings.length === 0 ? 0 : 1;
}
