// What every formula of a page shares. Its twin is the Rust beside it: compute.rs (steps), interval.rs (whole, near),
// digits.rs (numbers as text), table.rs (tables), working.rs (limits). A test holds the two to the same text for
// hundreds of random inputs of every formula. It knows no page and no form.
var locknut = (() => {
  "use strict";
  var PLAY = 1e-9;
  var known = {};

  function NoAnswer(why) { this.why = why; }
  function sure(number, why) {
    if (!isFinite(number)) throw new NoAnswer(why);
    return number;
  }
  function near(a, b) {
    var larger = Math.max(Math.abs(a), Math.abs(b));
    return a === b || (isFinite(larger) && Math.abs(a - b) <= PLAY * larger);
  }

  var E = {
    over: (a, b) => sure(a / b, "a division by 0"),
    whole: (x, n) => {
      var power = 1;
      if (n !== 0) {
        power = x;
        for (var i = 1; i < Math.abs(n); i++) power = power * x;
        if (n < 0) power = 1 / power;
      }
      return sure(power, "a division by 0, or a power too large");
    },
    power: (a, b) => sure(Math.pow(a, b), "this power of this number"),
    call: (name, x) => sure(E.functions[name][0](x), E.functions[name][1]),
    floor: x => {
      var nearest = Math.floor(x + 0.5);
      return Math.abs(x - nearest) <= PLAY ? nearest : Math.floor(x);
    },
    round: x => {
      var size = Math.abs(x);
      if (size >= 4503599627370496) return x;
      var rounded = E.floor(size + 0.5);
      return x < 0 ? -rounded + 0 : rounded;
    },
    gcd: (a, b) => {
      a = Math.abs(a);
      b = Math.abs(b);
      if (a % 1 !== 0 || b % 1 !== 0 || !isFinite(a) || !isFinite(b)) return NaN;
      while (b > 0) { var rest = a % b; a = b; b = rest; }
      return a;
    },
    holds: (sides, signs) => {
      var left = sides[0]();
      for (var i = 0; i < signs.length; i++) {
        var right = sides[i + 1]();
        var same = near(left, right);
        var sign = signs[i];
        var holds = sign === "<" ? left < right && !same : sign === "<=" ? left <= right || same
          : sign === ">" ? left > right && !same : sign === ">=" ? left >= right || same : sign === "==" ? same : !same;
        if (!holds) return false;
        left = right;
      }
      return true;
    },
    balance: (low, high, difference) => {
      var atLow = difference(low);
      if (atLow === 0) return low;
      var atHigh = difference(high);
      if (atHigh === 0) return high;
      if ((atLow < 0) === (atHigh < 0)) throw new NoAnswer("a balance without a change of sign between its ends");
      for (var i = 0; i < 200; i++) {
        var middle = low + (high - low) / 2;
        var atMiddle = difference(middle);
        if (atMiddle === 0) return middle;
        if ((atMiddle < 0) === (atLow < 0)) {
          if (middle === low) break;
          low = middle;
        } else {
          if (middle === high) break;
          high = middle;
        }
      }
      return low + (high - low) / 2;
    },
    lookup: (rows, value) => {
      var last = rows[rows.length - 1];
      if (near(value, last[1])) return last[2];
      if ((value < rows[0][0] && !near(value, rows[0][0])) || value > last[1]) throw new NoAnswer("a value outside the table");
      var place = -1;
      for (var i = 0; i < rows.length; i++) if (rows[i][0] <= value || near(rows[i][0], value)) place = i;
      if (place < 0) throw new NoAnswer("a value outside the table");
      return rows[place][2];
    }
  };
  E.functions = {
/*FUNCTIONS*/
  };

  // Numbers as text: twelve significant digits first, then the decimals, halves away from zero both times.
  function decimal(value) {
    function read(written) {
      var parts = written.split("e");
      return { negative: value < 0, digits: parts[0].replace(".", "").split("").map(Number), point: Number(parts[1]) + 1 };
    }
    var number = read(Math.abs(value).toExponential(17));
    var rest = number.digits.slice(12);
    // Exactly a half may itself have been rounded; with a hundred digits no double can hide beside one.
    if (rest[0] === 5 && rest.slice(1).every(digit => digit === 0)) {
      number = read(Math.abs(value).toExponential(100));
    }
    keep(number, 12);
    return number;
  }
  function keep(number, count) {
    var up = number.digits[count] >= 5;
    number.digits.length = Math.min(number.digits.length, count);
    if (up) {
      for (var i = number.digits.length - 1; i >= 0; i--) {
        if (number.digits[i] < 9) { number.digits[i] += 1; return; }
        number.digits[i] = 0;
      }
      number.digits.unshift(1);
      number.point += 1;
    } else if (number.digits.length === 0) {
      number.point = 0;
    }
  }
  function written(number, decimals) {
    function digit(place) {
      var found = number.digits[number.point - 1 - place];
      return found === undefined ? "0" : String(found);
    }
    var text = number.negative && number.digits.some(one => one !== 0) ? "\u2212" : "";
    for (var place = Math.max(number.point, 1) - 1; place >= 0; place--) text += digit(place);
    if (decimals > 0) text += ".";
    for (var after = 1; after <= decimals; after++) text += digit(-after);
    return text;
  }
  function fixed(value, decimals) {
    if (!isFinite(value)) return "\u2014";
    var number = decimal(value);
    var count = number.point + decimals;
    if (count >= 0) keep(number, count);
    else { number.digits = []; number.point = 0; }
    return written(number, Math.max(decimals, 0));
  }
  function plain(value) {
    if (!isFinite(value)) return "\u2014";
    var number = decimal(value);
    while (number.digits.length > 0 && number.digits[number.digits.length - 1] === 0) number.digits.pop();
    return written(number, Math.max(number.digits.length - number.point, 0));
  }

  function toBase(unit, value) { return (value * unit[3] + unit[5]) / unit[4]; }
  function fromBase(unit, value, kind) {
    return kind === "temperature_difference" ? value * unit[4] / unit[3] : (value * unit[4] - unit[5]) / unit[3];
  }
  function withUnit(digits, unit) {
    var sign = digits === "1" || digits === "\u22121" ? unit[1] : unit[2];
    if (sign === "") return digits;
    return unit[0] === "deg" ? digits + sign : digits + "\u00a0" + sign;
  }
  function bare(base, style) {
    var number = fromBase(style.unit, base, style.kind);
    return style.decimals === null || style.decimals === undefined ? plain(number) : fixed(number, style.decimals);
  }

  // Works a formula with values in base units: {steps, spoken, stopped}, or {why} where there is no answer.
  function work(formula, values) {
    var v = values.slice();
    var result = { steps: [], spoken: [], stopped: false };
    function tryLimits(done, stops) {
      formula.limits.forEach((limit, place) => {
        if (limit.after === done && limit.stops === stops && limit.speaks(v)) {
          result.spoken.push(place);
          result.stopped = result.stopped || stops;
        }
      });
    }
    try {
      for (var done = 0; done <= formula.steps.length; done++) {
        tryLimits(done, true);
        if (result.stopped) return result;
        if (done < formula.steps.length) {
          var value = sure(formula.steps[done](v), "a number too large");
          v[formula.inputs.length + done] = value;
          result.steps.push(value);
        }
      }
      for (var after = 0; after <= formula.steps.length; after++) tryLimits(after, false);
    } catch (gap) {
      if (!(gap instanceof NoAnswer)) throw gap;
      return { why: gap.why };
    }
    result.spoken.sort((a, b) => a - b);
    return result;
  }

  // By the text of a unit: [as written, shown with one, shown with many, num, den, shift, other spellings].
  var units = {};
  "/*UNITS*/".split(";").forEach(row => {
    row = row.split(",");
    var text = row[0];
    units[text] = [text, row[4] || text, row[5] || text, Number(row[1]), Number(row[2]), Number(row[3] || 0), row.slice(6)];
  });
  // Each kind: name, what it is called, the units that people use for it, what it takes besides.
  var kinds = "/*KINDS*/".split(";").map(row => {
    row = row.split(",");
    return [row[0], row[1], row[2].split(" "), row[3] === "" ? [] : row[3].split(" ")];
  });

  return {
    known: known,
    units: units,
    kinds: kinds,
    // Makes a formula known. An input is a list of name, meaning, kind, unit, ends of its range, what to do again; an
    // output one of name, meaning, kind, unit, step, decimals; a limit one of name, message, whether it stops, after how
    // many steps it is tried, and when it speaks. Steps are functions of all values so far.
    add: (id, inputs, outputs, steps, limits) => {
      function named(names) {
        return row => {
          var thing = {};
          names.forEach((name, place) => { thing[name] = row[place]; });
          if (thing.unit !== undefined) thing.unit = units[thing.unit] || thing.unit;
          return thing;
        };
      }
      known[id] = {
        id: id,
        inputs: inputs.map(named(["name", "about", "kind", "unit", "low", "high", "again"])),
        outputs: outputs.map(named(["name", "about", "kind", "unit", "step", "decimals"])),
        steps: steps,
        limits: limits.map(named(["name", "message", "stops", "after", "speaks"]))
      };
    },
    E: E, work: work, toBase: toBase, fromBase: fromBase, withUnit: withUnit, bare: bare, fixed: fixed, plain: plain, near: near,
    text: (base, style) => withUnit(bare(base, style), style.unit)
  };
})();
var E = locknut.E;
