// A value as a reader types it, held to the input that it is for. Its twin is the Rust beside it: written.rs (numbers,
// fractions and units), reading.rs (kind, whole numbers, range), fault.rs (the nearest word); the faults are the same
// in the same words. A form takes a decimal comma besides, and the unit beside a field where none is typed; it takes no
// tolerance, since a browser works points.
(() => {
  "use strict";
  var L = locknut;

  function fault(said, allowed, todo) { return { said: said, allowed: allowed, todo: todo }; }
  function words(name) { return name.replace(/_/g, " "); }

  // Every sign that can begin a unit, for suggestions.
  var signs = [];
  Object.keys(L.units).forEach(text => {
    if (text !== "" && !/[·\/^]/.test(text)) signs = signs.concat(text, L.units[text][6]);
  });

  /** What a unit measures: the kind that lists it, else the first that takes it. */
  function describe(unit) {
    function first(place) { return L.kinds.find(kind => kind[place].indexOf(unit[0]) >= 0); }
    return (first(2) || first(3))[1];
  }
  function kindOf(name) { return L.kinds.find(kind => kind[0] === name); }
  function isLabel(unit) { return unit[0] === "tooth" || unit[0] === "link"; }

  /** The units in which a value of a kind may be typed or shown. */
  function unitsOf(kind) { return kindOf(kind)[2].map(text => L.units[text]); }

  /** The unit of the table, or the input's own, that is written so. */
  function unitCalled(text, own) {
    var bare = text.replace(/\s*([\/·⋅])\s*/g, "$1").replace(/⋅/g, "·").replace(/²/g, "^2").replace(/³/g, "^3");
    var all = [own].concat(Object.keys(L.units).map(name => L.units[name]));
    return all.find(unit => unit[0] === bare || unit[0] === bare.replace(/\./g, "·") || unit[6].indexOf(bare) >= 0 || (bare !== "" && (unit[1] === bare || unit[2] === bare)));
  }

  /** Letters added, lost, changed or swapped with a neighbour between two words. */
  function edits(one, other) {
    var rows = [];
    for (var i = 0; i <= one.length; i++) {
      rows.push([i]);
      for (var j = 1; j <= other.length; j++) {
        if (i === 0) { rows[0].push(j); continue; }
        var best = Math.min(rows[i - 1][j] + 1, rows[i][j - 1] + 1, rows[i - 1][j - 1] + (one[i - 1] === other[j - 1] ? 0 : 1));
        if (i > 1 && j > 1 && one[i - 1] === other[j - 2] && one[i - 2] === other[j - 1]) best = Math.min(best, rows[i - 2][j - 2] + 1);
        rows[i].push(best);
      }
    }
    return rows[one.length][other.length];
  }
  function nearest(word, candidates) {
    var letters = word.toLowerCase();
    var most = Math.max(Math.floor(letters.length / 3), 1);
    var best = null;
    candidates.forEach(candidate => {
      var many = edits(letters, candidate.toLowerCase());
      var apart = Math.abs(candidate.length - letters.length);
      if (candidate === word || many > most || many >= letters.length) return;
      if (!best || many < best[0] || (many === best[0] && apart < best[1])) best = [many, apart, candidate];
    });
    return best && best[2];
  }
  function unknownUnit(word) {
    var near = nearest(word, signs);
    return fault("there is no unit called " + word, "", near ? "did you mean " + near + "?" : "write a unit that is known here, such as mm, N·m, bar, kg, deg or %");
  }
  function barePoint() { return fault("a digit must stand on each side of the decimal point", "", "write 0.5, not .5 or 5."); }
  function leftOver() {
    return fault("this can't be read as a number with its unit", "", "write the number first, then its unit, with no other words");
  }

  /** {number, digits, unit, fraction} of what was typed; `unit` is null where none was. */
  function read(typed, own) {
    var text = typed.trim().replace(/[\u2212\u2010\u2011]/g, "-").replace(/[\u00a0\u202f\u2009]/g, " ");
    if (/±|\+\/-/.test(text)) return fault("this form works points, not tolerances", "", "leave out what stands after ±");
    var found = text.match(/^(-?)\s*(\d+)(?:[.,](\d+))?/);
    if (!found) return /^-?\s*[.,]\d/.test(text) ? barePoint() : leftOver();
    var at = found[0].length;
    var rest = text.slice(at);
    if (/^[.,]\d/.test(rest)) return fault("this is not written as a number", "", "write digits with one decimal point");
    // Before three digits a comma may part thousands: 4,200 km.
    if (/^-?\s*\d{1,3},\d{3}$/.test(found[0])) return fault("the comma may part thousands here, or be a decimal comma", "", "write " + found[0].replace(",", "") + " or " + found[0].replace(",", "."));
    if (/^\./.test(rest)) return barePoint();
    if (/^[eE][+-]*\d/.test(rest)) return fault("a number takes no e for a power of ten", "", "write the number out, or choose a larger or smaller unit");
    var number = Number(found[2] + "." + (found[3] || "0"));
    var tail = found[3] === undefined && (rest.match(/^()\/(0*[1-9]\d*)/) || rest.match(/^ (\d+)\/(0*[1-9]\d*)/));
    if (tail) {
      number = tail[1] === "" ? number / Number(tail[2]) : number + Number(tail[1]) / Number(tail[2]);
      at += tail[0].length;
      rest = text.slice(at);
    }
    var sign = rest.trim();
    var unit = sign === "" ? null : unitCalled(sign, own);
    if (unit === undefined) {
      var first = sign.match(/^(?:%|[°º][CF]?|[\p{L}_]+)/u);
      if (!first) return leftOver();
      if (!unitCalled(first[0], own)) return unknownUnit(first[0]);
      return /^\s*[\/·⋅.^²³]/.test(sign.slice(first[0].length)) ? unknownUnit(sign) : leftOver();
    }
    return { number: found[1] ? -number : number, digits: text.slice(0, at), unit: unit, fraction: Boolean(tail) };
  }

  function advice(input) { return (input.again + " " + input.about).trim(); }

  /** The range of an input in words, in a unit. */
  function range(input, unit) {
    if (input.low === null || input.high === null) return "";
    function end(number) {
      var own = unit[0] === input.unit[0];
      var value = own ? number : Number(L.fromBase(unit, L.toBase(input.unit, number), input.kind).toPrecision(4));
      return L.withUnit(L.plain(value), unit);
    }
    return end(input.low) + " to " + end(input.high);
  }

  /** Holds what was typed to an input whose field stands in `shown`: {base, text}, or {said, allowed, todo}. */
  function take(input, typed, shown) {
    var found = read(typed, input.unit);
    var name = words(input.name);
    if (typed.trim() === "") return fault(name + " is empty", range(input, shown), advice(input));
    if (found.said) return fault(name + ": " + found.said, found.allowed, found.todo);
    var unit = found.unit || shown;
    var kind = kindOf(input.kind);
    var wrong = said => fault(said, range(input, shown), advice(input));
    // A unit that no kind lists stands only in the field of its own input.
    var isOwn = unit === shown || unit[0] === input.unit[0];
    if (found.fraction && (isOwn ? kind[1] : describe(unit)) !== "a length") return fault(name + ": a fraction stands only before a unit of length", "", "write " + L.plain(Math.abs(found.number)) + " instead");
    if (kind[2].indexOf("") >= 0 || input.kind === "percent") {
      if (unit[0] !== "" && unit[0] !== input.unit[0]) {
        if (isLabel(unit) || isLabel(input.unit)) return wrong(name + " is not counted in " + unit[2]);
        return wrong(name + " is " + kind[1] + ", not " + describe(unit));
      }
    } else if (!isOwn && kind[2].concat(kind[3]).indexOf(unit[0]) < 0) {
      return wrong(name + " is " + kind[1] + ", not " + describe(unit));
    }
    var base = L.toBase(unit, found.number);
    var own = L.fromBase(input.unit, base, input.kind);
    if (input.kind === "count" && own !== 0 && !L.near(Math.round(own), own)) return wrong(name + " is counted in whole numbers");
    var below = input.low !== null && own < input.low && !L.near(own, input.low);
    var above = input.high !== null && own > input.high && !L.near(own, input.high);
    return below || above ? wrong(name + " is out of range") : { base: base, text: L.withUnit(found.digits, unit) };
  }

  L.take = take;
  L.unitsOf = unitsOf;
})();
