// Follows every address that a pressed site holds, as written in the files, and says which lead nowhere: links,
// fragments, pictures, scripts, stylesheets, redirects, `url()` in CSS, `href` in drawings. Everything must be
// there when the folder is opened from a disk, so a link to a folder is a fault too. Addresses on other hosts
// can't be tried without a network: they are counted, and may not be loaded by a page; those that stand for this
// site's own address (its canonical links) are followed inside the folder.
//
//   node tests/tools/links.mjs SITE_DIR

import { existsSync, statSync } from "node:fs";
import path from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";
import { filesOf, isProgram, launchChromium, runAsProgram, textOf } from "./common.mjs";

/** Checks every page, drawing and stylesheet of the site. */
export async function checkLinks(site) {
  const read = await readSite(site);
  const own = ownAddress(read);
  const findings = [];
  let followed = 0;
  let elsewhere = 0;
  for (const [name, { links, repeated }] of read) {
    for (const id of repeated) findings.push({ where: name, name: "repeated-id", detail: `#${id}` });
    for (const link of links) {
      const target = resolve(site, name, link, own);
      if (target === "elsewhere") elsewhere++;
      else followed++;
      const fault = faultOf(site, read, name, link, target);
      if (fault) findings.push({ where: name, ...fault });
    }
  }
  const unique = [...new Map(findings.map((finding) => [JSON.stringify(finding), finding])).values()];
  return { findings: unique, looked: `${read.size} files, ${followed} addresses followed, ${elsewhere} on other hosts` };
}

/** Every file that can hold addresses: name -> {ids, repeated, links, canonical}. Chromium's own parser reads them. */
async function readSite(site) {
  const read = new Map();
  const browser = await launchChromium();
  try {
    const page = await browser.newPage();
    for (const name of filesOf(site, [".html", ".xhtml", ".svg"])) {
      const type = name.endsWith(".html") ? "text/html" : name.endsWith(".svg") ? "image/svg+xml" : "application/xhtml+xml";
      read.set(name, await page.evaluate(collect, { text: textOf(site, name), type }));
    }
  } finally {
    await browser.close();
  }
  for (const name of filesOf(site, [".css"])) {
    read.set(name, { ids: [], repeated: [], links: addressesInCss(textOf(site, name)) });
  }
  for (const [, file] of read) file.links.push(...(file.css ?? []).flatMap(addressesInCss));
  return read;
}

/** Runs inside the browser: the ids and addresses of one document, which is parsed but not shown. */
function collect({ text, type }) {
  const parsed = new DOMParser().parseFromString(text, type);
  // A `template` holds its own document; the addresses in it count like all others.
  const roots = [parsed, ...[...parsed.querySelectorAll("template")].map((template) => template.content)];
  const all = roots.flatMap((root) => [...root.querySelectorAll("*")]);
  const ids = all.map((element) => element.id).filter(Boolean);
  const links = [];
  const css = [];
  const LOADING = new Set(["img", "script", "iframe", "source", "audio", "video", "track", "embed", "object", "image", "use", "input"]);
  const LOADING_RELS = ["stylesheet", "icon", "preload", "modulepreload", "manifest", "prefetch"];
  const REFERENCES = ["for", "list", "headers", "aria-labelledby", "aria-describedby", "aria-controls", "aria-owns", "aria-details", "aria-flowto", "aria-activedescendant", "popovertarget"];
  for (const element of all) {
    const tag = element.localName;
    const loads = LOADING.has(tag) || (tag === "link" && LOADING_RELS.some((rel) => element.relList.contains(rel)));
    const add = (value) => links.push({ value, loads });
    for (const key of ["href", "xlink:href", "src", "poster", "data", "action", "formaction", "cite"]) {
      if (element.hasAttribute(key)) add(element.getAttribute(key));
    }
    for (const key of ["srcset", "imagesrcset"]) {
      for (const part of (element.getAttribute(key) ?? "").split(",")) {
        if (part.trim()) links.push({ value: part.trim().split(/\s+/)[0], loads: true });
      }
    }
    for (const key of REFERENCES) {
      for (const id of (element.getAttribute(key) ?? "").split(/\s+/).filter(Boolean)) {
        links.push({ value: `#${id}`, loads: false });
      }
    }
    if (tag === "meta" && element.httpEquiv?.toLowerCase() === "refresh") {
      add(element.content.replace(/^[^;,]*[;,]\s*(url\s*=\s*)?/i, "").replace(/^["']|["']$/g, ""));
    }
    if (tag === "style") css.push(element.textContent);
    for (const { name, value } of element.attributes) {
      if (value.includes("url(") || name === "style") css.push(value);
    }
  }
  return {
    ids,
    repeated: [...new Set(ids.filter((id, index) => ids.indexOf(id) !== index))],
    links,
    css,
    canonical: parsed.querySelector('link[rel="canonical"]')?.getAttribute("href"),
  };
}

/** What `url(…)` and `@import "…"` name in a piece of CSS. */
function addressesInCss(text) {
  const bare = text.replace(/\/\*[\s\S]*?\*\//g, "");
  const quoted = [...bare.matchAll(/url\(\s*(?:"([^"]*)"|'([^']*)'|([^)"'\s]*))\s*\)|@import\s+(?:"([^"]*)"|'([^']*)')/g)];
  return quoted.map(([, ...values]) => ({ value: values.find((value) => value !== undefined), loads: true }));
}

/** The address under which the site is published, read off a page's canonical link. */
function ownAddress(read) {
  for (const [name, { canonical }] of read) {
    if (canonical?.endsWith(`/${name}`)) return canonical.slice(0, -name.length);
  }
  return undefined;
}

/** The file and fragment that a link names; "elsewhere" for another host, undefined for what needs no file. */
function resolve(site, name, { value }, own) {
  if (own && value.startsWith(own)) return new URL(value.slice(own.length) || "index.html", pathToFileURL(`${site}/`));
  const base = pathToFileURL(path.join(site, name));
  let url;
  try {
    url = new URL(value, base);
  } catch {
    return "malformed";
  }
  if (url.protocol === "file:") return url;
  return ["data:", "tel:", "mailto:", "sms:", "geo:"].includes(url.protocol) ? undefined : "elsewhere";
}

/** What is wrong with one link, if anything is. */
function faultOf(site, read, name, { value, loads }, target) {
  if (value.trim() === "") return { name: "broken-link", detail: "an empty address" };
  if (target === undefined) return undefined;
  if (target === "malformed") return { name: "broken-link", detail: `${value} is no address` };
  if (target === "elsewhere") return loads ? { name: "remote-load", detail: value } : undefined;
  const file = fileURLToPath(new URL(target.pathname, "file:"));
  const inside = path.relative(site, file).split(path.sep).join("/");
  if (inside.startsWith("..")) return { name: "outside-site", detail: value };
  if (!existsSync(file)) return { name: "broken-link", detail: `${value} is not there` };
  if (statSync(file).isDirectory()) return { name: "folder-link", detail: `${value} is a folder` };
  const fragment = decodeURIComponent(target.hash.slice(1));
  const ids = read.get(inside)?.ids;
  if (fragment && ids && !ids.includes(fragment)) return { name: "missing-fragment", detail: `${value} has no such place` };
  return undefined;
}

if (isProgram(import.meta.url)) await runAsProgram(checkLinks);
