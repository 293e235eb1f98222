// Holds `proof --sarif` to SARIF 2.1.0 by the declarations of a pinned package, which are made from the standard's own schema:
// a compiler refuses a property that the standard doesn't have, a value that is none of its words, and what is missing.
// First it must refuse a log with a slip, so that its silence counts.
//
//   node tests/tools/sarif.mjs PROGRAM MISTAKES_DIR

import { spawnSync } from "node:child_process";
import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import path from "node:path";
import { requirePinned } from "./common.mjs";

const ts = requirePinned("typescript");
const [program, mistakes] = process.argv.slice(2);
if (!program || !mistakes || process.argv.length > 4) {
  console.error("usage: node sarif.mjs PROGRAM MISTAKES_DIR");
  process.exit(2);
}

/** What the compiler says of a log; nothing where it is one of the standard's. */
function faultsOf(log) {
  const types = path.join(path.dirname(requirePinned.resolve("@types/sarif/package.json")), "index.d.ts");
  const name = "/log.ts";
  const text = `import type { Log } from ${JSON.stringify(types)};\nexport const log: Log = ${JSON.stringify(log, null, 1)};\n`;
  const options = { strict: true, noEmit: true, target: ts.ScriptTarget.ES2022, types: [], moduleResolution: ts.ModuleResolutionKind.Bundler, module: ts.ModuleKind.ESNext, allowImportingTsExtensions: true };
  const host = ts.createCompilerHost(options);
  const read = host.getSourceFile.bind(host);
  host.getSourceFile = (file, version) => (file === name ? ts.createSourceFile(name, text, version) : read(file, version));
  const made = ts.createProgram([name], options, host);
  return ts.getPreEmitDiagnostics(made).map(({ messageText }) => ts.flattenDiagnosticMessageText(messageText, "\n"));
}

const folder = mkdtempSync(path.join(tmpdir(), "locknut-sarif-"));
try {
  const place = (name, text) => {
    const file = path.join(folder, "content", name);
    mkdirSync(path.dirname(file), { recursive: true });
    writeFileSync(file, text);
  };
  place("shop.yaml", "name: Tollgate Cycle Works\nplace: Ennismouth\n");
  place("stated/stock.yaml", "longest_chain: {value: 116 links, about: longest chain kept, source: marked on the box, checked: 2026-04-02}\n");
  for (const name of ["evaluate/loose-figure.md", "evaluate/claim-out.md", "parse/heading-level.md"]) {
    const file = path.join(mistakes, name);
    place(`guides/drivetrain/${path.basename(name)}`, readFileSync(file, "utf8"));
  }
  const proof = spawnSync(program, ["proof", "--sarif", "--library", folder, "--on", "2026-11-25"], { encoding: "utf8" });
  if (proof.status !== 1) throw new Error(`proof ended with ${proof.status}: ${proof.stderr}`);
  const log = JSON.parse(proof.stdout);
  const plain = JSON.parse(spawnSync(program, ["proof", "--json", "--library", folder, "--on", "2026-11-25"], { encoding: "utf8" }).stdout);
  const slips = [
    { ...log, version: "2.2" },
    { ...log, runs: [{ ...log.runs[0], results: [{ ...log.runs[0].results[0], level: "fault" }] }] },
    { ...log, runs: [{ results: [] }] },
    { ...log, shop: "ours" },
  ];
  for (const slip of slips) {
    if (faultsOf(slip).length === 0) throw new Error("a log with a slip went unseen");
  }
  const found = faultsOf(log);
  const results = log.runs[0].results;
  if (results.length !== plain.faults.length || results.length < 3) found.push(`${results.length} results of ${plain.faults.length} faults`);
  results.forEach((result, at) => {
    const fault = plain.faults[at];
    const { region, artifactLocation } = result.locations[0].physicalLocation;
    const same = result.ruleId === fault.id && region.startLine === fault.line && region.startColumn === fault.column && artifactLocation.uri === fault.file;
    if (!same) found.push(`result ${at} is not fault ${at}: ${fault.id} at ${fault.file}:${fault.line}:${fault.column}`);
    if (log.runs[0].tool.driver.rules[result.ruleIndex].id !== result.ruleId) found.push(`result ${at} has another rule's index`);
  });
  console.log(`a log of ${results.length} results, ${slips.length} slips refused; ${found.length === 0 ? "nothing found" : found.join("\n")}`);
  process.exitCode = found.length === 0 ? 0 : 1;
} finally {
  rmSync(folder, { recursive: true, force: true });
}
