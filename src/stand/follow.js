// Follows the press that `stand` keeps going. A sheet that changed is laid over the one on the screen, in its place: nothing
// is loaded anew that is the same, the page stays where it was, and what was opened stays open. What stops the press
// hangs as a tag at the foot of the last good sheet.
(function () {
  "use strict";
  var self = document.currentScript;
  var edition = self.dataset.edition;
  var tag = null;
  var wanted = 0;

  function hold(text) {
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
    var seen = named.find(function (one) { var box = one.getBoundingClientRect(); return box.height && box.bottom > 0; });
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

  /** The scripts of a sheet run over the new one, in their order. */
  function run(next) {
    document.querySelectorAll("script[data-followed]").forEach(function (old) { old.remove(); });
    next.querySelectorAll("body > script[src]").forEach(function (script) {
      var source = script.getAttribute("src");
      if (/^\/stand\//.test(source) || script.dataset.worker) return;
      var made = document.createElement("script");
      made.src = source;
      made.async = false;
      made.dataset.followed = "";
      document.body.appendChild(made);
    });
  }

  function lay(text) {
    var next = new DOMParser().parseFromString(text, "text/html");
    var old = document.querySelector(".paper");
    var sheet = next.querySelector(".paper");
    if (!old || !sheet) { location.reload(); return; }
    style(next).then(function (former) {
      var seen = place();
      var opened = Array.from(document.querySelectorAll("details[open][id]")).map(function (one) { return one.id; });
      document.title = next.title;
      document.querySelector(".paper").replaceWith(document.adoptNode(sheet));
      opened.forEach(function (id) {
        var again = document.getElementById(id);
        if (again) again.open = true;
      });
      if (former) former.remove();
      var stays = seen && document.getElementById(seen.id);
      if (stays) window.scrollBy(0, stays.getBoundingClientRect().top - seen.top);
      var told = next.querySelector("script[data-says]");
      edition = told ? told.dataset.edition : edition;
      document.documentElement.dataset.edition = edition;
      run(next);
    });
  }

  var query = "?page=" + encodeURIComponent(location.pathname) + "&says=" + self.dataset.says + "&edition=" + edition;
  var events = new EventSource("/stand/events" + query);
  events.addEventListener("sheet", function (event) {
    var turn = ++wanted;
    if (event.data === "gone") { hold("This sheet is gone: its file was renamed or deleted, or nobody could read it."); return; }
    fetch(location.pathname, { cache: "no-store" }).then(function (answer) { return answer.text(); }).then(function (text) {
      // Of two saves in a row the later one is laid.
      if (turn === wanted) lay(text);
    });
  });
  events.addEventListener("edition", function (event) { mark(event.data); });
  events.addEventListener("hold", function (event) { hold(event.data); });
  events.addEventListener("free", function () { hold(""); });
})();
