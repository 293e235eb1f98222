// A small host for tests: serves a pressed folder below a path on this machine, as plain web hosts do, and can be
// stopped, given another folder, or made to fail for some addresses.

import { existsSync, readFileSync, statSync } from "node:fs";
import { createServer } from "node:http";
import path from "node:path";

const KINDS = {
  html: "text/html; charset=utf-8", css: "text/css; charset=utf-8", js: "text/javascript; charset=utf-8",
  json: "application/json", webmanifest: "application/manifest+json", png: "image/png", jpg: "image/jpeg",
  woff2: "font/woff2", txt: "text/plain; charset=utf-8", xml: "application/xml",
};

/** A host of one folder below `at` (`/guides/`). */
export class Host {
  constructor(folder, at) {
    this.folder = folder;
    this.at = at;
    this.port = 0;
    /** Paths that answer 503, by a test of their own. */
    this.fails = () => false;
    /** Another folder for some paths: a host between two editions. */
    this.mixed = () => undefined;
    /** What some paths answer in place of their file, as `[kind, body]`. */
    this.says = () => undefined;
    /** How long the answer for a path takes, in milliseconds. */
    this.takes = () => 0;
    /** Headers that every answer has besides. */
    this.headers = {};
    this.asked = [];
  }

  async start() {
    this.server = createServer((request, response) => {
      setTimeout(() => this.answer(request, response), this.takes(request.url));
    });
    await new Promise((done) => this.server.listen(this.port, "127.0.0.1", done));
    this.port = this.server.address().port;
    this.base = `http://127.0.0.1:${this.port}${this.at}`;
  }

  async stop() {
    const closed = new Promise((done) => this.server.close(done));
    this.server.closeAllConnections();
    await closed;
  }

  answer(request, response) {
    const asked = decodeURIComponent(new URL(request.url, this.base).pathname);
    this.asked.push(asked);
    const inside = asked.startsWith(this.at) ? asked.slice(this.at.length) : undefined;
    const name = inside === "" || inside?.endsWith("/") ? `${inside}index.html` : inside;
    if (name !== undefined && this.fails(name)) return this.send(response, 503, "text/plain", "busy\n");
    const said = name && this.says(name);
    if (said) return this.send(response, 200, ...said);
    const file = name === undefined ? undefined : path.join(this.mixed(name) ?? this.folder, name);
    if (!file || !existsSync(file) || !statSync(file).isFile()) {
      return this.send(response, 404, KINDS.html, readFileSync(path.join(this.folder, "404.html")));
    }
    return this.send(response, 200, KINDS[path.extname(file).slice(1)] ?? "application/octet-stream", readFileSync(file));
  }

  send(response, status, kind, body) {
    // As many hosts do: a page may be kept for a while. What must be fresh asks past that.
    response.writeHead(status, { "content-type": kind, "cache-control": "max-age=600", ...this.headers });
    response.end(body);
  }
}
