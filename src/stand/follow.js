// Follows the press that `stand` keeps going: a new site loads the page again, faults hang as a tag at its foot.
(function () {
  "use strict";
  var edition = document.currentScript.dataset.edition;
  var tag = null;
  function hold(text) {
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
      document.body.appendChild(tag);
    }
    tag.lastChild.textContent = text;
  }
  var events = new EventSource("/stand/events");
  events.addEventListener("edition", function (event) {
    if (edition !== event.data) location.reload();
    if (tag) { tag.remove(); tag = null; }
  });
  events.addEventListener("hold", function (event) { hold(event.data); });
})();
