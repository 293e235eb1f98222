// The reader's own numbers: a form in every opened working, worked on the device by the same formula as the page's own
// figures. Numbers typed once are offered on other sheets, kept on the device alone, carried in a link when the reader
// asks for one, and printed with the sheet. A fault-finding chart is shown one check at a time. Without this script
// the sheet reads the same. Loads nothing.
(() => {
  "use strict";
  chart();
  if (typeof locknut === "undefined") return;
  var BIKE = "locknut: my bike";
  var UNITS = "locknut: units";
  // What inch units are called for, kind by kind; other kinds keep the unit of the formula.
  var INCH = { mm: "in", m: "ft", km: "mile", kg: "lb", g: "lb", N: "lbf", "N·m": "lbf·in", bar: "psi", kPa: "psi", "km/h": "mph", degC: "degF", mL: "fl_oz", L: "fl_oz", "N/mm": "lbf/in" };
  var bike = read(BIKE) || {};
  var inch = read(UNITS) === "inch";
  var forms = [];

  function read(key) {
    try { return JSON.parse(localStorage.getItem(key)); } catch (error) { return null; }
  }
  function keep(key, value) {
    try { localStorage.setItem(key, JSON.stringify(value)); } catch (error) { /* A device may keep nothing. */ }
  }
  function make(name, words, attributes) {
    var element = document.createElement(name);
    if (words) element.textContent = words;
    Object.keys(attributes || {}).forEach(key => { element.setAttribute(key, attributes[key]); });
    return element;
  }

  /** Shows the check that the address names, the first where it names none, and above it the answers on the way there. */
  function chart() {
    var box = document.querySelector(".chart");
    if (!box) return;
    var checks = Array.from(box.children);
    var way = make("ol", "", { "class": "chart-way" });
    var act = make("button", "Show every check", { type: "button", "class": "chart-whole" });
    var trail = [];
    var now, whole = false;
    function show(moved) {
      var id = location.hash.slice(1);
      now = checks.find(check => check.id === id) || checks[0];
      var at = now === checks[0] ? 0 : trail.findIndex(step => step[0] === now);
      if (at >= 0) trail.length = at;
      way.textContent = "";
      trail.forEach(step => {
        var item = make("li", "");
        item.appendChild(make("a", step[0].querySelector("h2").lastChild.data, { href: "#" + step[0].id }));
        item.appendChild(make("b", step[1]));
        way.appendChild(item);
      });
      way.hidden = whole || trail.length === 0;
      checks.forEach(check => { check.hidden = !whole && check !== now; });
      if (moved) { now.scrollIntoView(); now.querySelector("h2").focus({ preventScroll: true }); }
    }
    box.before(way);
    box.after(act);
    checks.forEach(check => { check.querySelector("h2").tabIndex = -1; });
    box.classList.add("stepping");
    box.addEventListener("click", event => {
      var item = event.target.closest(".to-check");
      if (item && event.target.href && !whole) trail.push([now, item.querySelector(".answer").textContent]);
    });
    act.addEventListener("click", () => {
      whole = !whole;
      act.textContent = whole ? "Show one check at a time" : "Show every check";
      show(false);
    });
    window.addEventListener("hashchange", () => show(true));
    show(false);
  }

  function words(name) { return name.replace(/_/g, " "); }

  /** The unit in which a field or a result stands now. */
  function shownUnit(thing) {
    var other = inch && INCH[thing.unit[0]];
    return (other && locknut.unitsOf(thing.kind).find(one => one[0] === other)) || thing.unit;
  }
  function styleOf(thing, unit) {
    if (unit === thing.unit || unit[0] === thing.unit[0]) return thing;
    var ratio = (unit[3] / unit[4]) / (thing.unit[3] / thing.unit[4]);
    var decimals = thing.decimals;
    if (decimals !== null && decimals !== undefined) decimals += Math.round(Math.log10(ratio));
    return { unit: unit, decimals: decimals, kind: thing.kind };
  }
  function Form(box) {
    var self = this;
    self.box = box;
    self.name = box.getAttribute("data-working");
    self.formula = locknut.known[box.getAttribute("data-formula")];
    self.given = JSON.parse(box.getAttribute("data-given"));
    self.fields = [];
    var id = "own-" + self.name;
    var form = make("form", "", { "aria-label": "Your own numbers for " + self.name, autocomplete: "off", novalidate: "novalidate" });
    form.appendChild(make("p", "With your own numbers", { "class": "own-name" }));
    form.appendChild(make("p", "Worked on this device by the formula above. It works single values: for tolerances, work both ends.", { "class": "faint" }));
    self.formula.inputs.forEach((input, place) => { form.appendChild(self.field(input, place, id)); });
    var acts = make("p", "", { "class": "own-acts" });
    [["Back to the sheet's numbers", () => { self.reset(); }], ["Link to these numbers", () => { self.link(); }]].forEach(act => {
      var button = make("button", act[0], { type: "button" });
      button.addEventListener("click", act[1]);
      acts.appendChild(button);
    });
    self.result = make("output", "", { "class": "own-result", "aria-live": "polite", "for": self.fields.map(field => field.box.id).join(" ") });
    form.appendChild(self.result);
    form.appendChild(acts);
    form.addEventListener("submit", event => { event.preventDefault(); });
    form.addEventListener("input", () => { self.work(true); });
    box.appendChild(form);
    box.hidden = false;
  }
  Form.prototype.field = function (input, place, id) {
    var self = this;
    var key = id + "-" + input.name;
    var row = make("p", "", { "class": "own-field" });
    row.appendChild(make("label", words(input.name), { "for": key }));
    var box = make("input", "", { id: key, type: "text", inputmode: input.low === null || input.low < 0 ? "text" : "decimal", "aria-describedby": key + "-about" });
    var unit = make("span", "", { "class": "own-unit" });
    row.appendChild(box);
    row.appendChild(unit);
    row.appendChild(make("span", input.about, { id: key + "-about", "class": "about" }));
    var offer = make("button", "", { type: "button", "class": "own-offer" });
    offer.hidden = true;
    offer.addEventListener("click", () => { box.value = bike[keyOf(input)]; self.work(true); box.focus(); });
    row.appendChild(offer);
    self.fields.push({ input: input, box: box, unit: unit, offer: offer, place: place, touched: false });
    box.addEventListener("input", () => { self.fields[place].touched = true; });
    return row;
  };
  function keyOf(input) { return input.name + ":" + input.kind; }
  Form.prototype.reset = function () {
    this.fields.forEach(field => { field.touched = false; });
    this.show();
    this.work(false);
  };
  /** Puts the sheet's numbers into untouched fields, and names the units that hold now. */
  Form.prototype.show = function () {
    var self = this;
    self.fields.forEach(field => {
      var input = field.input;
      var unit = shownUnit(input);
      field.now = unit;
      field.unit.textContent = unit[2];
      if (!field.touched) {
        var number = locknut.fromBase(unit, self.given[field.place], input.kind);
        field.box.value = unit[0] === input.unit[0] ? locknut.plain(number) : locknut.plain(Number(number.toPrecision(5)));
      }
      var mine = bike[keyOf(input)];
      field.offer.hidden = !mine || mine === field.box.value;
      field.offer.textContent = mine ? "my bike: " + mine : "";
    });
  };
  Form.prototype.nameUnits = function () {
    var self = this;
    self.fields.forEach(field => {
      var taken = field.touched && locknut.take(field.input, field.box.value, field.now);
      if (taken && taken.text) field.box.value = taken.text;
    });
  };
  Form.prototype.work = function (own) {
    var self = this;
    var values = [];
    var faults = [];
    self.fields.forEach(field => {
      // A number of the sheet that nobody touched is taken as it is, whatever unit it is shown in.
      var taken = field.touched ? locknut.take(field.input, field.box.value, field.now) : { base: self.given[field.place] };
      field.box.toggleAttribute("aria-invalid", Boolean(taken.said));
      if (taken.said) faults.push(taken);
      else values.push(taken.base);
      if (own && field.touched && taken.text) bike[keyOf(field.input)] = taken.text;
    });
    if (own) { keep(BIKE, bike); myBike(); }
    self.box.classList.toggle("own-filled", self.fields.some(field => field.touched));
    self.tell(faults, values);
    forms.forEach(form => { if (form !== self) form.show(); });
  };
  Form.prototype.tell = function (faults, values) {
    var out = this.result;
    var formula = this.formula;
    out.textContent = "";
    faults.forEach(fault => {
      var line = make("p", fault.said + ". ", { "class": "own-fault" });
      if (fault.allowed) line.appendChild(make("span", "Allowed: " + fault.allowed + ". "));
      line.appendChild(make("span", "Do: " + fault.todo + (/\?$/.test(fault.todo) ? "" : ".")));
      out.appendChild(line);
    });
    if (faults.length > 0) return;
    var result = locknut.work(formula, values);
    if (result.why) {
      out.appendChild(make("p", "No answer for these values: it comes to " + result.why + ". Check the values against each other.", { "class": "own-fault" }));
      return;
    }
    if (!result.stopped) {
      var list = make("ul", "", { "class": "quantities" });
      formula.outputs.forEach(output => {
        var line = make("li", "");
        line.appendChild(make("span", words(output.name), { "class": "about" }));
        line.appendChild(make("b", locknut.text(result.steps[output.step], styleOf(output, shownUnit(output)))));
        line.appendChild(make("span", output.about, { "class": "about" }));
        list.appendChild(line);
      });
      out.appendChild(list);
    }
    result.spoken.forEach(place => { out.appendChild(make("p", formula.limits[place].message, { "class": "limit-line" })); });
    // The working above carries the cautions of its formula; printed, the form stands for all of it.
    this.box.closest("details").querySelectorAll(".caution").forEach(caution => { out.appendChild(make("p", caution.textContent, { "class": "own-caution" })); });
  };
  Form.prototype.link = function () {
    // Each number with its unit: whoever opens the link may have the other units.
    this.nameUnits();
    var pairs = this.fields.filter(field => field.touched).map(field => [field.input.name, field.box.value]);
    location.hash = "w-" + this.name + "?" + new URLSearchParams(pairs);
  };
  /** Numbers that came in a link: `#w-chain?chainstay=415mm`. */
  function fromLink() {
    var found = location.hash.match(/^#w-([^?]+)\?(.*)$/);
    if (!found) return;
    forms.forEach(form => {
      if (form.name !== found[1]) return;
      form.box.closest("details").open = true;
      var given = new URLSearchParams(found[2]);
      form.fields.forEach(field => {
        var value = given.get(field.input.name);
        if (value !== null) { field.box.value = value; field.touched = true; }
      });
      form.work(false);
      form.box.scrollIntoView();
    });
  }

  function unitSwitch() {
    var place = document.getElementById("own-numbers");
    if (!place || forms.length === 0) return;
    var set = make("fieldset", "", {});
    set.appendChild(make("legend", "Units of your own numbers"));
    [["metric", "metric"], ["inch", "inch and pound"]].forEach(choice => {
      var label = make("label", "");
      var radio = make("input", "", { type: "radio", name: "own-units", value: choice[0] });
      radio.checked = inch === (choice[0] === "inch");
      radio.addEventListener("change", () => {
        // A number that was typed stays what it is: it keeps the unit in which it was meant.
        forms.forEach(form => { form.nameUnits(); });
        inch = choice[0] === "inch";
        keep(UNITS, choice[0]);
        forms.forEach(form => { form.show(); form.work(false); });
      });
      label.appendChild(radio);
      label.appendChild(document.createTextNode(" " + choice[1]));
      set.appendChild(label);
    });
    place.appendChild(set);
    place.appendChild(kept);
    place.hidden = false;
  }

  // What the device keeps, to be read and forgotten in one place.
  var kept = make("details", "", { "class": "own-bike" });
  function myBike() {
    var names = Object.keys(bike);
    var open = kept.open;
    kept.textContent = "";
    kept.hidden = names.length === 0;
    kept.open = open;
    kept.appendChild(make("summary", "My bike: " + (names.length === 1 ? "1 number" : names.length + " numbers") + ", kept on this device alone"));
    kept.appendChild(make("p", names.map(key => words(key.split(":")[0]) + " " + bike[key]).join("; ")));
    var forget = make("button", "Forget them", { type: "button" });
    forget.addEventListener("click", () => {
      bike = {};
      keep(BIKE, bike);
      myBike();
      forms.forEach(form => form.show());
    });
    kept.appendChild(forget);
  }

  Array.prototype.forEach.call(document.querySelectorAll(".own-numbers"), function (box) {
    if (locknut.known[box.getAttribute("data-formula")]) forms.push(new Form(box));
  });
  unitSwitch();
  myBike();
  forms.forEach(form => { form.show(); form.work(false); });
  fromLink();
  window.addEventListener("hashchange", fromLink);
})();
