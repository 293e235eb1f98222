// The finding page: a field, and the sheets that answer as rows of an item list. What matched stands below each title,
// the figure that answers at the right. Everything is done by keyboard too, and the question is kept in the address.
// Names that `short.rs` lists are cut at the press, so that none of them may be one of the browser's own.
(() => {
  "use strict";
  if (!globalThis.document) return;
  var part = id => document.getElementById("found" + id), list = part("");
  if (!list) return;
  var form = document.querySelector("form[role=search]"), field = form.elements.q;
  var STEP = 12, shown = STEP, kept;

  var make = (name, inside, kind) => {
    var element = document.createElement(name);
    element.append(...inside);
    element.className = kind || "";
    return element;
  };
  var marked = runs => runs.map(run => run[1] ? make("b", [run[0]]) : run[0]);
  var link = (inside, href) => {
    var element = make("a", inside);
    element.href = href;
    return element;
  };
  var row = one => {
    var said = marked(one.runs);
    if (one.fragment) said = [one.fragment.replace("op-", "Op ").replace(/^check.*/, "check") + ": ", link(said, one.href + "#" + one.fragment)];
    else if (one.field) said.unshift(one.field + ": ");
    return make("li", [
      make("span", [/\d/.test(one.number) ? one.number : one.kind], "number"),
      make("div", [link(marked(one.title), one.href), make("p", said)], "what"),
      make("p", one.figure ? [make("span", [one.figure], "fig")] : [], "facts")
    ]);
  };
  var titles = () => [...list.querySelectorAll(".what>a")];

  var look = () => {
    var query = field.value.trim(), found = query ? locknutFinding.find(field.value) : [], count = found.length, none = query && !count;
    list.replaceChildren(...found.slice(0, shown).map(one => row(one())));
    part("-more").hidden = count <= shown;
    part("-more").textContent = "more (" + (count - shown) + ")";
    part("-none").hidden = !none;
    part("-said").textContent = !query ? "" : [(count || "no") + (count === 1 ? " sheet" : " sheets"),
      ...found.read.map(one => one.word + " read as " + one.read), ...(count ? found.missing : []).map(word => word + " is in no sheet")].join("; ");
    var near = (none ? found.missing : []).flatMap(locknutFinding.nearest).map(word => {
      var button = make("button", [word]);
      button.type = "button";
      button.onclick = () => ask(word);
      return button;
    });
    part("-near").replaceChildren(...near);
    part("-near").parentNode.hidden = !near[0];
    clearTimeout(kept);
    kept = setTimeout(() => history.replaceState(null, "", query ? "?q=" + encodeURIComponent(query) : location.pathname), 200);
  };
  var ask = query => {
    field.value = query;
    field.oninput();
    field.focus();
  };
  var go = steps => {
    var all = [field, ...titles()], place = all.indexOf(document.activeElement) + steps;
    if (place < steps || !all[place]) return;
    all[place].focus();
    return true;
  };

  field.oninput = () => {
    shown = STEP;
    look();
  };
  form.onsubmit = event => {
    event.preventDefault();
    look();
    go(1);
  };
  part("-more").onclick = () => {
    look(shown += STEP);
    titles()[shown - STEP].focus();
  };
  document.addEventListener("keydown", event => {
    var pressed = event["key"], at = event.target;
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (pressed === "/" && !/^(INPUT|TEXTAREA|SELECT)$/.test(at.tagName)) field.select();
    else if (pressed === "Escape" && (at === field || list.contains(at))) ask("");
    else if (!(pressed === "ArrowDown" ? go(1) : pressed === "ArrowUp" && go(-1))) return;
    event.preventDefault();
  });
  field.value = field.value || new URLSearchParams(location.search).get("q") || "";
  locknutFinding.unpack(() => field.value && look());
})();
