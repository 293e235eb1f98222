// Follows the press that `stand` keeps going. A sheet that changed is laid over the one on the screen, in its place: nothing
// is loaded anew that is the same, the page stays where it was, and what was opened stays open. What stops the press
// hangs as a tag at the foot of the last good sheet.
(function () {
  "use strict";
  var self = document.currentScript;
  var edition = self.dataset.edition;
  var tag = null;
  var wanted = 0;
  // What the sheet's own script works on.
  var SCRIPTED = ".own-numbers, #own-numbers, .beside, .chart, .find";

  var held = "", gone = false;

  /** Shows what is to be said at the foot of the sheet, or nothing. */
  function tell() {
    var text = (gone ? "This sheet is gone: its file was renamed or deleted, or nobody could read it.\n\n" : "") + held;
    if (!text) {
      if (tag) tag.remove();
      tag = null;
      return;
    }
    if (!tag) {
      tag = document.createElement("section");
      tag.setAttribute("role", "status");
      tag.setAttribute("aria-label", "Hold: what stops the press");
      tag.style.cssText =
        "position:sticky;bottom:0;max-height:45vh;overflow:auto;margin:0;padding:.6rem 1rem;" +
        "border-top:3px double var(--danger);background:var(--paper);color:var(--ink)";
      tag.appendChild(document.createElement("strong"));
      tag.appendChild(document.createElement("pre"));
      tag.firstChild.textContent = "HOLD: this is the last good sheet";
      tag.lastChild.style.cssText = "white-space:pre-wrap;overflow-wrap:anywhere;margin:.3rem 0 0";
      document.body.appendChild(tag);
    }
    tag.lastChild.textContent = text;
  }

  /** The edition's mark, wherever the page says it. */
  function mark(now) {
    document.documentElement.dataset.edition = now;
    document.querySelectorAll(".edition").forEach(function (place) {
      place.textContent = place.textContent.replace(edition, now);
    });
    edition = now;
  }

  /** What the reader looks at: the first thing with a name that is in sight, and how far down it stands. */
  function place() {
    var named = Array.from(document.querySelectorAll(".paper [id]"));
    var seen = named.find(function (one) { var box = one.getBoundingClientRect(); return box.height && box.top >= 0 && box.top < innerHeight; });
    seen = seen || named.find(function (one) { var box = one.getBoundingClientRect(); return box.height && box.bottom > 0; });
    return seen && { id: seen.id, top: seen.getBoundingClientRect().top };
  }

  /** Loads the stylesheet of the new sheet, where it is another, before the sheet is laid. */
  function style(next) {
    var old = document.querySelector("link[rel=stylesheet]");
    var href = next.querySelector("link[rel=stylesheet]").getAttribute("href");
    if (!old || old.getAttribute("href") === href) return Promise.resolve();
    return new Promise(function (done) {
      var link = old.cloneNode();
      link.setAttribute("href", href);
      link.onload = link.onerror = function () { done(old); };
      old.after(link);
    });
  }

  /** The scripts of a sheet, but those of the edition and this one. */
  function scripts(page) {
    return Array.from(page.querySelectorAll("body > script[src]")).filter(function (script) {
      return !/^\/stand\//.test(script.getAttribute("src")) && !script.dataset.worker && !("followed" in script.dataset);
    });
  }
  function sources(page) {
    return scripts(page).map(function (script) { return script.getAttribute("src"); }).join();
  }

  /** The scripts of a sheet run over the new one, in their order; then `done`. */
  function run(next, done) {
    document.querySelectorAll("script[data-followed]").forEach(function (old) { old.remove(); });
    var all = scripts(next);
    if (!all.length) done();
    all.forEach(function (script, place) {
      var source = script.getAttribute("src");
      var made = document.createElement("script");
      made.src = source;
      made.async = false;
      made.dataset.followed = "";
      if (place === all.length - 1) made.onload = made.onerror = done;
      document.body.appendChild(made);
    });
  }

  // The sheet as it came, before its scripts ran over it: what differs from it in the next one is what changed.
  var last = null;

  /** True where a script of the sheet has something to do with what changed, so that it has to run again. */
  function isScripted(node) {
    return node.nodeType === 1 && (node.matches(SCRIPTED) || node.querySelector(SCRIPTED) !== null);
  }

  /** Changes what is on the screen as the sheet changed from `was` to `is`; false where it can't be told. */
  function follow(live, was, is) {
    if (was.isEqualNode(is)) return true;
    if (isScripted(was) !== isScripted(is) || live.nodeName !== is.nodeName || was.nodeName !== is.nodeName) return false;
    if (is.nodeType !== 1) { live.nodeValue = is.nodeValue; return true; }
    if (is.matches(SCRIPTED)) return false;
    Array.from(was.attributes).forEach(function (one) { if (!is.hasAttribute(one.name)) live.removeAttribute(one.name); });
    Array.from(is.attributes).forEach(function (one) {
      if (was.getAttribute(one.name) !== one.value) live.setAttribute(one.name, one.value);
    });
    var olds = Array.from(was.childNodes), news = Array.from(is.childNodes), lives = Array.from(live.childNodes);
    if (lives.length !== olds.length) return false;
    if (olds.length === news.length) {
      return lives.every(function (one, place) { return follow(one, olds[place], news[place]); });
    }
    var head = 0, foot = 0, least = Math.min(olds.length, news.length);
    while (head < least && olds[head].isEqualNode(news[head])) head += 1;
    while (foot < least - head && olds[olds.length - 1 - foot].isEqualNode(news[news.length - 1 - foot])) foot += 1;
    var gone = olds.slice(head, olds.length - foot), come = news.slice(head, news.length - foot);
    if (gone.concat(come).some(isScripted)) return false;
    var before = lives[lives.length - foot] || null;
    lives.slice(head, lives.length - foot).forEach(function (one) { one.remove(); });
    come.forEach(function (one) { live.insertBefore(document.importNode(one, true), before); });
    return true;
  }

  /** Lays the whole new sheet; what scripts will fill in keeps its room until they have. */
  function layWhole(next) {
    var sheet = document.importNode(next.querySelector(".paper"), true);
    var old = document.querySelector(".paper");
    var opened = Array.from(document.querySelectorAll("details[open][id]")).map(function (one) { return one.id; });
    var rooms = {};
    old.querySelectorAll(".own-numbers, #own-numbers").forEach(function (box) {
      if (!box.hidden) rooms[box.dataset.working || box.id] = box.getBoundingClientRect().height;
    });
    old.replaceWith(sheet);
    opened.forEach(function (id) {
      var again = document.getElementById(id);
      if (again) again.open = true;
    });
    var kept = Array.from(sheet.querySelectorAll(".own-numbers, #own-numbers")).filter(function (box) {
      return rooms[box.dataset.working || box.id];
    });
    kept.forEach(function (box) {
      box.hidden = false;
      box.style.minHeight = rooms[box.dataset.working || box.id] + "px";
    });
    run(next, function () {
      kept.forEach(function (box) {
        box.style.removeProperty("min-height");
        if (!box.getAttribute("style")) box.removeAttribute("style");
        if (!box.hasChildNodes()) box.hidden = true;
      });
    });
  }

  function lay(text) {
    var next = new DOMParser().parseFromString(text, "text/html");
    var sheet = next.querySelector(".paper");
    if (!document.querySelector(".paper") || !sheet) { location.reload(); return; }
    style(next).then(function (former) {
      var seen = place();
      var before = last && last.querySelector(".paper");
      var same = before && sources(last) === sources(next);
      if (!same || !follow(document.querySelector(".paper"), before, sheet)) layWhole(next);
      if (former) former.remove();
      document.title = next.title;
      var stays = seen && document.getElementById(seen.id);
      if (stays) window.scrollBy({ top: stays.getBoundingClientRect().top - seen.top, behavior: "instant" });
      var told = next.querySelector("script[data-says]");
      edition = told ? told.dataset.edition : edition;
      document.documentElement.dataset.edition = edition;
      last = next;
    });
  }

  // The sheet as it came is read once more, since its scripts have run over the one on the screen.
  fetch(location.pathname, { cache: "no-store" }).then(function (answer) { return answer.text(); }).then(function (text) {
    var came = new DOMParser().parseFromString(text, "text/html");
    var told = came.querySelector("script[data-says]");
    if (!last && told && told.dataset.says === self.dataset.says) last = came;
  });

  var query = "?page=" + encodeURIComponent(location.pathname) + "&says=" + self.dataset.says + "&edition=" + edition;
  var events = new EventSource("/stand/events" + query);
  events.addEventListener("sheet", function (event) {
    var turn = ++wanted;
    gone = event.data === "gone";
    tell();
    if (gone) return;
    fetch(location.pathname, { cache: "no-store" }).then(function (answer) { return answer.text(); }).then(function (text) {
      // Of two saves in a row the later one is laid.
      if (turn === wanted) lay(text);
    });
  });
  events.addEventListener("edition", function (event) { mark(event.data); });
  events.addEventListener("hold", function (event) { held = event.data; tell(); });
  events.addEventListener("free", function () { held = ""; tell(); });
})();
