// The reader's own numbers: a form in every opened working, worked on the device by the same formula as the page's own
// figures. Numbers typed once are offered on other sheets, kept on the device alone, carried in a link when the reader
// asks for one, and printed with the sheet. One switch turns the units of a sheet, and a fault-finding chart is shown one
// check at a time. Without this script the sheet reads the same. Loads nothing.
(() => {
  "use strict";
  var known = typeof locknut === "undefined" ? {} : locknut.known;
  var BIKE = "locknut: my bike";
  var UNITS = "locknut: units";
  // What inch units are called for, kind by kind; other kinds keep the unit of the formula.
  var INCH = { mm: "in", m: "ft", km: "mile", kg: "lb", g: "lb", N: "lbf", "N·m": "lbf·in", bar: "psi", kPa: "psi", "km/h": "mph", degC: "degF", mL: "fl_oz", L: "fl_oz", "N/mm": "lbf/in" };
  var bike = read(BIKE) || {};
  var inch = read(UNITS) === "inch";
  var forms = [];
  var besides = all(".beside");

  function all(what) { return Array.from(document.querySelectorAll(what)); }
  function read(key) {
    try { return JSON.parse(localStorage.getItem(key)); } catch (error) { return null; }
  }
  function keep(key, value) {
    try { localStorage.setItem(key, JSON.stringify(value)); } catch (error) { /* A device may keep nothing. */ }
  }
  /** An element with its words, a class or attributes, and what stands in it. */
  function make(name, words, about, ...inside) {
    var element = document.createElement(name);
    if (words) element.textContent = words;
    if (typeof about === "string") element.className = about;
    else for (var key in about) element.setAttribute(key, about[key]);
    element.append(...inside);
    return element;
  }
  function on(element, what, act) { element.addEventListener(what, act); }
  function button(words, act, name) {
    var made = make("button", words, { type: "button", "class": name });
    on(made, "click", act);
    return made;
  }

  /** Shows the check that the address names, the first where it names none, and above it the answers on the way there. */
  function chart() {
    var box = all(".chart")[0];
    if (!box) return;
    var checks = Array.from(box.children);
    var way = make("ol", "", "chart-way");
    var trail = [];
    var now, whole;
    var act = button("", () => { whole = !whole; show(); }, "chart-whole");
    var asks = check => check.querySelector("h2");
    function show() {
      now = checks.find(check => "#" + check.id === location.hash) || checks[0];
      var at = now === checks[0] ? 0 : trail.findIndex(step => step[0] === now);
      if (at >= 0) trail.length = at;
      way.replaceChildren(...trail.map(step => make("li", "", "", make("a", asks(step[0]).textContent, { href: "#" + step[0].id }), make("b", step[1]))));
      way.hidden = whole || !trail[0];
      act.textContent = whole ? "One check at a time" : "Every check at once";
      checks.forEach(check => { check.hidden = !whole && check !== now; });
    }
    box.before(way);
    box.after(act);
    checks.forEach(check => { asks(check).tabIndex = -1; });
    box.classList.add("stepping");
    on(box, "click", event => {
      var item = event.target.closest(".to-check");
      if (item && event.target.href && !whole) trail.push([now, item.children[0].textContent]);
    });
    on(window, "hashchange", () => {
      show();
      (way.hidden ? now : way).scrollIntoView();
      asks(now).focus({ preventScroll: true });
    });
    show();
  }

  function words(name) { return name.replace(/_/g, " "); }

  /** The unit in which a field or a result stands now. */
  function shownUnit(thing) {
    var other = inch && INCH[thing.unit[0]];
    return (other && locknut.unitsOf(thing.kind).find(one => one[0] === other)) || thing.unit;
  }
  function styleOf(thing, unit) {
    if (unit[0] === thing.unit[0]) return thing;
    var ratio = (unit[3] / unit[4]) / (thing.unit[3] / thing.unit[4]);
    var decimals = thing.decimals;
    if (decimals !== null && decimals !== undefined) decimals += Math.round(Math.log10(ratio));
    return { unit: unit, decimals: decimals, kind: thing.kind };
  }
  function keyOf(input) { return input.name + ":" + input.kind; }

  class Form {
    constructor(box) {
      var data = box.dataset;
      this.box = box;
      this.name = data.working;
      this.formula = known[data.formula];
      this.given = JSON.parse(data.given);
      this.fields = [];
      var form = make("form", "", { "aria-label": "Your own numbers for " + this.name, autocomplete: "off", novalidate: "" },
        make("p", "With your own numbers", "own-name"),
        make("p", "Worked on this device by the formula above. It works single values: for tolerances, work both ends.", "faint"),
        ...this.formula.inputs.map((input, place) => this.field(input, place)));
      this.result = make("output", "", { "class": "own-result", "aria-live": "polite", "for": this.fields.map(field => field.box.id).join(" ") });
      form.append(this.result, make("p", "", "own-acts", button("Back to the sheet's numbers", () => this.reset()), button("Link to these numbers", () => this.link())));
      on(form, "submit", event => event.preventDefault());
      on(form, "input", () => this.work(true));
      box.append(form);
      box.hidden = false;
    }
    field(input, place) {
      var key = "own-" + this.name + "-" + input.name;
      var box = make("input", "", { id: key, type: "text", inputmode: input.low === null || input.low < 0 ? "text" : "decimal", "aria-describedby": key + "-about" });
      var unit = make("span", "", "own-unit");
      var offer = button("", () => { box.value = bike[keyOf(input)]; this.work(true); box.focus(); }, "own-offer");
      var field = { input: input, box: box, unit: unit, offer: offer, place: place, touched: false };
      offer.hidden = true;
      this.fields.push(field);
      on(box, "input", () => { field.touched = true; });
      return make("p", "", "own-field", make("label", words(input.name), { "for": key }), box, unit, make("span", input.about, { id: key + "-about", "class": "about" }), offer);
    }
    reset() {
      this.fields.forEach(field => { field.touched = false; });
      this.show();
      this.work();
    }
    /** Puts the sheet's numbers into untouched fields, and names the units that hold now. */
    show() {
      this.fields.forEach(field => {
        var input = field.input;
        var unit = shownUnit(input);
        field.now = unit;
        field.unit.textContent = unit[2];
        if (!field.touched) {
          var number = locknut.fromBase(unit, this.given[field.place], input.kind);
          field.box.value = locknut.plain(unit[0] === input.unit[0] ? number : Number(number.toPrecision(5)));
        }
        var mine = bike[keyOf(input)];
        field.offer.hidden = !mine || mine === field.box.value;
        field.offer.textContent = mine ? "my bike: " + mine : "";
      });
    }
    nameUnits() {
      this.fields.forEach(field => {
        var taken = field.touched && locknut.take(field.input, field.box.value, field.now);
        if (taken && taken.text) field.box.value = taken.text;
      });
    }
    work(own) {
      var values = [];
      var faults = [];
      this.fields.forEach(field => {
        // A number of the sheet that nobody touched is taken as it is, whatever unit it is shown in.
        var taken = field.touched ? locknut.take(field.input, field.box.value, field.now) : { base: this.given[field.place] };
        // Without a value the attribute would say that nothing is wrong.
        field.box.setAttribute("aria-invalid", Boolean(taken.said));
        if (taken.said) faults.push(taken);
        else values.push(taken.base);
        if (own && field.touched && taken.text) bike[keyOf(field.input)] = taken.text;
      });
      if (own) { keep(BIKE, bike); myBike(); }
      this.box.classList.toggle("own-filled", this.fields.some(field => field.touched));
      this.result.replaceChildren(...this.told(faults, values));
      forms.forEach(form => { if (form !== this) form.show(); });
    }
    /** What stands below the fields: faults, or the answer with what its limits say. */
    told(faults, values) {
      var formula = this.formula;
      if (faults[0]) {
        return faults.map(fault => make("p", fault.said + ". ", "own-fault", fault.allowed ? make("span", "Allowed: " + fault.allowed + ". ") : "", make("span", "Do: " + fault.todo + (/\?$/.test(fault.todo) ? "" : "."))));
      }
      var result = locknut.work(formula, values);
      if (result.why) return [make("p", "No answer for these values: it comes to " + result.why + ". Check the values against each other.", "own-fault")];
      var list = formula.outputs.map(output => make("li", "", "", make("span", words(output.name), "about"), make("b", locknut.text(result.steps[output.step], styleOf(output, shownUnit(output)))), make("span", output.about, "about")));
      // The working above carries the cautions of its formula; printed, the form stands for all of it.
      var cautions = Array.from(this.box.closest("details").querySelectorAll(".caution"));
      return [
        result.stopped ? "" : make("ul", "", "quantities", ...list),
        ...result.spoken.map(place => make("p", formula.limits[place].message, "limit-line")),
        ...cautions.map(caution => make("p", caution.textContent, "own-caution"))
      ];
    }
    link() {
      // Each number with its unit: whoever opens the link may have the other units.
      this.nameUnits();
      var pairs = this.fields.filter(field => field.touched).map(field => [field.input.name, field.box.value]);
      location.hash = "w-" + this.name + "?" + new URLSearchParams(pairs);
    }
  }
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
      form.work();
      form.box.scrollIntoView();
    });
  }

  /** Each figure that stands in two units changes places with the one beside it: both are the press's. */
  function turn() {
    besides.forEach(beside => {
      var first = beside.previousElementSibling;
      var was = first.textContent;
      first.textContent = beside.textContent.slice(1, -1);
      beside.textContent = "(" + was + ")";
    });
  }
  function unitSwitch() {
    var place = all("#own-numbers")[0];
    if (!place || !(forms[0] || besides[0])) return;
    // Where the shop's first unit is the pound's, the sheet stands turned already.
    if (inch !== Boolean(besides[0] && !/lbf|psi/.test(besides[0].textContent))) turn();
    place.append(make("fieldset", "", "", make("legend", "Units"), ...["metric", "inch and pound"].map(choice => {
      var radio = make("input", "", { type: "radio", name: "own-units", value: choice.split(" ")[0] });
      radio.checked = inch === (choice !== "metric");
      on(radio, "change", () => {
        // A number that was typed stays what it is: it keeps the unit in which it was meant.
        forms.forEach(form => form.nameUnits());
        inch = choice !== "metric";
        turn();
        keep(UNITS, inch ? "inch" : choice);
        forms.forEach(form => { form.show(); form.work(); });
      });
      return make("label", "", "", radio, " " + choice);
    })), kept);
    place.hidden = false;
  }

  // What the device keeps, to be read and forgotten in one place.
  var kept = make("details", "", "own-bike");
  function myBike() {
    var names = Object.keys(bike);
    kept.hidden = !names[0];
    kept.replaceChildren(
      make("summary", "My bike: " + names.length + (names[1] ? " numbers" : " number") + ", kept on this device alone"),
      make("p", names.map(key => words(key.split(":")[0]) + " " + bike[key]).join("; ")),
      button("Forget them", () => {
        bike = {};
        keep(BIKE, bike);
        myBike();
        forms.forEach(form => form.show());
      })
    );
  }

  all(".own-numbers").forEach(box => {
    if (known[box.dataset.formula]) forms.push(new Form(box));
  });
  chart();
  unitSwitch();
  myBike();
  forms.forEach(form => { form.show(); form.work(); });
  fromLink();
  on(window, "hashchange", fromLink);
})();
