// The reader's own numbers: a form in every opened working, worked on the device by the same formula as the page's own
// figures. Numbers typed once are offered on other sheets, kept on the device alone, carried in a link when the reader
// asks for one, and printed with the sheet. Without this script the sheet reads the same. Loads nothing.
(function () {
  "use strict";
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
    Object.keys(attributes || {}).forEach(function (key) { element.setAttribute(key, attributes[key]); });
    return element;
  }
  function words(name) { return name.replace(/_/g, " "); }

  /** The unit in which a field or a result stands now. */
  function shownUnit(unit, units) {
    var other = inch && INCH[unit[0]];
    return (other && units.find(function (one) { return one[0] === other; })) || unit;
  }
  function styleOf(thing, unit) {
    if (unit === thing.unit || unit[0] === thing.unit[0]) return thing;
    var ratio = (unit[3] / unit[4]) / (thing.unit[3] / thing.unit[4]);
    var decimals = thing.decimals;
    if (decimals !== null && decimals !== undefined) decimals += Math.round(Math.log10(ratio));
    return { unit: unit, decimals: decimals, kind: thing.kind };
  }
  function range(input, unit) {
    function end(number) {
      var own = unit[0] === input.unit[0];
      var value = own ? number : Number(locknut.fromBase(unit, locknut.toBase(input.unit, number), input.kind).toPrecision(4));
      return locknut.withUnit(locknut.plain(value), unit);
    }
    if (input.low === null || input.high === null) return "";
    return end(input.low) + " to " + end(input.high);
  }

  /** Reads what stands in a field: {base, text}, or {said, allowed, todo}. */
  function take(input, written, unit, units) {
    var text = written.trim().replace(/[\u2212\u2010\u2011]/g, "-").replace(/[\u00a0\u202f\u2009]/g, " ");
    var name = words(input.name);
    function fault(said, allowed, todo) { return { said: said, allowed: allowed, todo: todo }; }
    if (/±|\+\/-/.test(text)) return fault("this form works points, not tolerances", "", "leave out what stands after ±");
    var found = text.match(/^(-?)\s*(?:(\d+)\s+(\d+)\/(\d+)|(\d+)\/(\d+)|(\d*)(?:[.,](\d+))?)\s*(.*)$/);
    if (!found || (found[2] === undefined && found[5] === undefined && !found[7] && !found[8])) {
      return fault("this can't be read as a number with its unit", "a number with its unit: " + locknut.withUnit("1", unit), "write the number first, then its unit, with no other words");
    }
    var number = found[2] !== undefined ? Number(found[2]) + Number(found[3]) / Number(found[4])
      : found[5] !== undefined ? Number(found[5]) / Number(found[6]) : Number((found[7] || "0") + "." + (found[8] || "0"));
    if (found[1]) number = -number;
    var sign = found[9].trim();
    var own = unit;
    if (sign !== "") {
      own = units.concat([input.unit]).find(function (one) { return names(one).indexOf(sign) >= 0; });
      if (!own) {
        var allowed = units.map(function (one) { return one[2]; }).filter(String);
        return fault("there is no unit called " + sign, allowed.join(", ") || "a plain number", "choose one of these units");
      }
    }
    var base = locknut.toBase(own, number);
    var inOwn = locknut.fromBase(input.unit, base, input.kind);
    if (input.kind === "count" && Math.abs(inOwn - Math.round(inOwn)) > 1e-9 * Math.abs(inOwn)) return fault(name + " is counted in whole numbers", range(input, unit), input.advice);
    if ((input.low !== null && inOwn < input.low && !locknut.near(inOwn, input.low)) || (input.high !== null && inOwn > input.high && !locknut.near(inOwn, input.high))) {
      return fault(name + " is out of range", range(input, unit), input.advice);
    }
    return { base: base, text: locknut.withUnit(text.slice(0, text.length - found[9].length).trim(), own) };
  }
  /** Every way in which people write a unit. */
  function names(unit) {
    var all = [unit[0], unit[1], unit[2], unit[0].replace(/·/g, ""), unit[0].replace(/·/g, "."), unit[2].replace(/ /g, "")];
    if (unit[0] === "in") all.push("inch", "inches", "\"", "″");
    if (unit[0] === "deg") all.push("°", "º");
    if (unit[0] === "degC") all.push("°C", "C");
    if (unit[0] === "degF") all.push("°F", "F");
    if (unit[0] === "mL") all.push("ml");
    if (unit[0] === "L") all.push("l");
    return all.filter(String);
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
    self.formula.inputs.forEach(function (input, place) { form.appendChild(self.field(input, place, id)); });
    var acts = make("p", "", { "class": "own-acts" });
    [["Back to the sheet's numbers", function () { self.reset(); }], ["Link to these numbers", function () { self.link(); }]].forEach(function (act) {
      var button = make("button", act[0], { type: "button" });
      button.addEventListener("click", act[1]);
      acts.appendChild(button);
    });
    self.result = make("output", "", { "class": "own-result", "aria-live": "polite", "for": self.fields.map(function (field) { return field.box.id; }).join(" ") });
    form.appendChild(self.result);
    form.appendChild(acts);
    form.addEventListener("submit", function (event) { event.preventDefault(); });
    form.addEventListener("input", function () { self.work(true); });
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
    offer.addEventListener("click", function () { box.value = bike[keyOf(input)]; self.work(true); box.focus(); });
    row.appendChild(offer);
    self.fields.push({ input: input, box: box, unit: unit, offer: offer, place: place, touched: false });
    box.addEventListener("input", function () { self.fields[place].touched = true; });
    return row;
  };
  function keyOf(input) { return input.name + ":" + input.kind; }
  Form.prototype.reset = function () {
    this.fields.forEach(function (field) { field.touched = false; });
    this.show();
    this.work(false);
  };
  /** Puts the sheet's numbers into untouched fields, and names the units that hold now. */
  Form.prototype.show = function () {
    var self = this;
    self.fields.forEach(function (field) {
      var input = field.input;
      var unit = shownUnit(input.unit, self.formula.units[input.kind]);
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
    self.fields.forEach(function (field) {
      var taken = field.touched && take(field.input, field.box.value, field.now, self.formula.units[field.input.kind]);
      if (taken && taken.text) field.box.value = taken.text;
    });
  };
  Form.prototype.work = function (own) {
    var self = this;
    var values = [];
    var faults = [];
    self.fields.forEach(function (field) {
      // A number of the sheet that nobody touched is taken as it is, whatever unit it is shown in.
      var taken = field.touched ? take(field.input, field.box.value, field.now, self.formula.units[field.input.kind]) : { base: self.given[field.place] };
      field.box.toggleAttribute("aria-invalid", Boolean(taken.said));
      if (taken.said) faults.push(taken);
      else values.push(taken.base);
      if (own && field.touched && taken.text) bike[keyOf(field.input)] = taken.text;
    });
    if (own) keep(BIKE, bike);
    self.box.classList.toggle("own-filled", self.fields.some(function (field) { return field.touched; }));
    self.tell(faults, values);
    forms.forEach(function (form) { if (form !== self) form.show(); });
  };
  Form.prototype.tell = function (faults, values) {
    var out = this.result;
    var formula = this.formula;
    out.textContent = "";
    faults.forEach(function (fault) {
      var line = make("p", fault.said + ". ", { "class": "own-fault" });
      if (fault.allowed) line.appendChild(make("span", "Allowed: " + fault.allowed + ". "));
      line.appendChild(make("span", "Do: " + fault.todo + "."));
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
      formula.outputs.forEach(function (output) {
        var line = make("li", "");
        line.appendChild(make("span", words(output.name), { "class": "about" }));
        line.appendChild(make("b", locknut.text(result.steps[output.step], styleOf(output, shownUnit(output.unit, formula.units[output.kind])))));
        line.appendChild(make("span", output.about, { "class": "about" }));
        list.appendChild(line);
      });
      out.appendChild(list);
    }
    result.spoken.forEach(function (place) { out.appendChild(make("p", formula.limits[place][0].message, { "class": "limit-line" })); });
    formula.cautions.forEach(function (caution) { out.appendChild(make("p", caution, { "class": "own-caution" })); });
  };
  Form.prototype.link = function () {
    var parts = this.fields.filter(function (field) { return field.touched; }).map(function (field) {
      return encodeURIComponent(field.input.name) + "=" + encodeURIComponent(field.box.value);
    });
    location.hash = "w-" + this.name + "?" + parts.join("&");
  };
  /** Numbers that came in a link: `#w-chain?chainstay=415mm`. */
  function fromLink() {
    var found = location.hash.match(/^#w-([^?]+)\?(.*)$/);
    if (!found) return;
    forms.forEach(function (form) {
      if (form.name !== decodeURIComponent(found[1])) return;
      form.box.closest("details").open = true;
      found[2].split("&").forEach(function (part) {
        var pair = part.split("=").map(decodeURIComponent);
        form.fields.forEach(function (field) {
          if (field.input.name === pair[0]) { field.box.value = pair[1]; field.touched = true; }
        });
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
    [["metric", "metric"], ["inch", "inch and pound"]].forEach(function (choice) {
      var label = make("label", "");
      var radio = make("input", "", { type: "radio", name: "own-units", value: choice[0] });
      radio.checked = inch === (choice[0] === "inch");
      radio.addEventListener("change", function () {
        // A number that was typed stays what it is: it keeps the unit in which it was meant.
        forms.forEach(function (form) { form.nameUnits(); });
        inch = choice[0] === "inch";
        keep(UNITS, choice[0]);
        forms.forEach(function (form) { form.show(); form.work(false); });
      });
      label.appendChild(radio);
      label.appendChild(document.createTextNode(" " + choice[1]));
      set.appendChild(label);
    });
    place.appendChild(set);
    place.hidden = false;
  }

  Array.prototype.forEach.call(document.querySelectorAll(".own-numbers"), function (box) {
    if (locknut.known[box.getAttribute("data-formula")]) forms.push(new Form(box));
  });
  unitSwitch();
  forms.forEach(function (form) { form.show(); form.work(false); });
  fromLink();
  window.addEventListener("hashchange", fromLink);
})();
