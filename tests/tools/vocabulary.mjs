// Holds what the pages say of themselves to programs (JSON-LD) to the vocabulary of schema.org: every type and every
// property is in it, the property belongs to the type or to one that it is a kind of, is not given up, and its value
// is of a kind that the property takes. The vocabulary is that of a pinned package of type declarations, which is
// made from the vocabulary's own files. Every guide, reply, chart and build sheet, and the front page, must say something; the steps of a
// guide must be the operations that stand on it.
//
//   node tests/tools/vocabulary.mjs SITE_DIR

import { readFileSync } from "node:fs";
import path from "node:path";
import { filesOf, isProgram, isRedirect, requirePinned, runAsProgram, textOf } from "./common.mjs";

const CONTEXT = "https://schema.org";

/** Types with their properties and with the types that are kinds of them, read from the declarations. */
function readVocabulary() {
  const file = path.join(path.dirname(requirePinned.resolve("schema-dts/package.json")), "dist/schema.d.ts");
  const text = readFileSync(file, "utf8");
  const bases = new Map();
  for (const [, name, parents, body] of text.matchAll(/^interface (\w+)Base(?:<[^>]*>)? extends ([^{]+) \{\n([\s\S]*?)^\}/gm)) {
    bases.set(name, { parents: [...parents.matchAll(/(\w+)Base\b/g)].map(([, parent]) => parent), properties: propertiesOf(body) });
  }
  const types = new Map();
  for (const [, declared, body] of text.matchAll(/^(?:interface|type) \w+Leaf(?:<[^>]*>)?([^{]*)\{([\s\S]*?)^\}/gm)) {
    const name = body.match(/"@type": "(\w+)"/)?.[1];
    const base = declared.match(/(\w+)Base\b/)?.[1];
    if (name && base) types.set(name, { base });
  }
  const kinds = new Map();
  for (const [, name, members] of text.matchAll(/^export type (\w+) = ([^;]+);/gm)) {
    kinds.set(name, members.split("|").map((member) => member.trim().replace(/Leaf$/, "")));
  }
  return { bases, types, kinds };
}

function propertiesOf(body) {
  const found = new Map();
  for (const [, note, name, value] of body.matchAll(/(\/\*\*(?:(?!\*\/)[\s\S])*\*\/)?\s*"([\w-]+)"\?: SchemaValue<([^;]*), "[\w-]+">;/g)) {
    found.set(name, { takes: value.split("|").map((kind) => kind.trim()), isGivenUp: Boolean(note?.includes("@deprecated")) });
  }
  return found;
}

let known;
const vocabulary = () => (known ??= readVocabulary());

function propertyOf(base, name) {
  const { bases } = vocabulary();
  const here = bases.get(base);
  if (!here) return undefined;
  return here.properties.get(name) ?? here.parents.map((parent) => propertyOf(parent, name)).find(Boolean);
}

/** Whether one type is another or a kind of it. */
function isKindOf(name, wanted, seen = new Set()) {
  if (name === wanted) return true;
  if (seen.has(wanted)) return false;
  seen.add(wanted);
  return (vocabulary().kinds.get(wanted) ?? []).some((member) => member !== wanted && isKindOf(name, member, seen));
}

const PLAIN = {
  Text: (value) => typeof value === "string" && value.trim() !== "",
  URL: (value) => typeof value === "string" && /^https?:\/\/[^\s]+$/.test(value),
  Date: (value) => typeof value === "string" && /^\d{4}-\d\d-\d\d$/.test(value) && !Number.isNaN(Date.parse(value)),
  DateTime: (value) => typeof value === "string" && /^\d{4}-\d\d-\d\dT\d\d:\d\d/.test(value) && !Number.isNaN(Date.parse(value)),
  Duration: (value) => typeof value === "string" && /^P(?=.)(\d+D)?(T(?=.)(\d+H)?(\d+M)?(\d+S)?)?$/.test(value),
  Number: (value) => typeof value === "number",
  Integer: (value) => Number.isInteger(value),
  Float: (value) => typeof value === "number",
  Boolean: (value) => typeof value === "boolean",
};

/** Goes through one object; `say(fault, detail)` is told what is wrong, `counts` what was looked at. */
function checkThing(thing, place, say, counts) {
  const type = thing["@type"];
  const declared = vocabulary().types.get(type);
  counts.things += 1;
  if (!declared) return say("unknown-type", `${place}: ${type}`);
  counts.types.add(type);
  for (const [name, value] of Object.entries(thing)) {
    if (name.startsWith("@")) continue;
    const property = propertyOf(declared.base, name);
    counts.properties += 1;
    counts.names.add(name);
    if (!property) say("unknown-property", `${place}: ${type} has no ${name}`);
    else if (property.isGivenUp) say("given-up-property", `${place}: ${name}`);
    else [value].flat().forEach((one) => checkValue(one, property, `${place}.${name}`, say, counts));
  }
  return undefined;
}

function checkValue(value, property, place, say, counts) {
  if (value !== null && typeof value === "object") {
    if (!property.takes.some((kind) => isKindOf(value["@type"], kind))) {
      say("wrong-value", `${place} takes ${property.takes.join(", ")}, not ${value["@type"]}`);
    }
    checkThing(value, place, say, counts);
  } else if (!property.takes.some((kind) => PLAIN[kind]?.(value))) {
    say("wrong-value", `${place} takes ${property.takes.join(", ")}, not ${JSON.stringify(value)}`);
  }
}

/** The data that stand in one page, as written. */
const dataOf = (text) => [...text.matchAll(/<script type="application\/ld\+json">([\s\S]*?)<\/script>/g)].map(([, data]) => data);

/** Checks every page of the site. */
export async function checkVocabulary(site) {
  const findings = [];
  const counts = { pages: 0, things: 0, properties: 0, types: new Set(), names: new Set() };
  for (const name of filesOf(site, [".html"])) {
    const text = textOf(site, name);
    const say = (fault, detail) => findings.push({ where: name, name: fault, detail });
    const data = dataOf(text);
    if (data.length === 0) {
      const must = /^(guides|replies|faults|bikes)\//.test(name) || name === "index.html";
      if (must && !isRedirect(text)) say("no-data", "the page says nothing of itself to programs");
      continue;
    }
    counts.pages += 1;
    for (const one of data) {
      let thing;
      try {
        thing = JSON.parse(one);
      } catch (error) {
        say("no-json", error.message);
        continue;
      }
      if (thing["@context"] !== CONTEXT) say("wrong-context", String(thing["@context"]));
      checkThing(thing, thing["@type"], say, counts);
      if (thing["@type"] === "HowTo") checkSteps(thing, text, say);
    }
  }
  if (vocabulary().types.size < 700) findings.push({ where: "schema-dts", name: "not-checked", detail: `only ${vocabulary().types.size} types could be read` });
  const looked = `${counts.pages} pages, ${counts.things} things of ${counts.types.size} types, ${counts.properties} values of ${counts.names.size} properties, against ${vocabulary().types.size} types`;
  return { findings, looked };
}

/** The steps are the operations of the page, in their order. */
function checkSteps(thing, text, say) {
  const operations = [...text.matchAll(/<section class="operation" id="op-(\d+)"/g)].map(([, number]) => Number(number));
  const steps = [thing.step ?? []].flat().map((step) => step.position);
  if (JSON.stringify(steps) !== JSON.stringify(operations)) say("other-steps", `${steps.join(" ")} for operations ${operations.join(" ")}`);
}

if (isProgram(import.meta.url)) await runAsProgram(checkVocabulary);
