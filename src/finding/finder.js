// Finds the sheet that somebody asks for, in the reader's browser and without a network. The library's own lines are the
// index: every sheet is a row of word numbers, and a question reads them all through, which takes a few thousandths of a
// second at two thousand sheets. What a word may mean (its forms, its spellings, the workshop's other words for it) is
// decided here alone, for the library and the question by the same steps. Knows no page; `rows.js` shows what is found.
// Names that `short.rs` lists are cut at the press, so that none of them may be one of the browser's own.
(() => {
  "use strict";
  var data = locknutFinding;
  // What a word is worth by the line it stands in: head, title, ask, symptom, operation, part, figure, summary.
  var WORTH = [3, 10, 9, 9, 5, 4.5, 4, 3];
  // These come after a sheet for riders that says the same.
  var BEHIND = { "build sheet": 0.8, handbook: 0.6, formula: 0.45, library: 0.8 };
  var little = new Set(data.minor.split(" "));
  var unit = new RegExp("(\\d)\\s*(" + data.units + ")(?![a-z\\d])", "g");
  var keyList = [], known = new Map(), stems = new Map(), memo = new Map(), chunks = [], parts = [], worths = [], groups = [];
  // Of each line its first chunk, its field and its worth; of each sheet its first line.
  var tokens = [], starts = [], fields = [], wholes = [], firsts = [], addresses, sheets = 0;
  var more = Math.max, least = Math.min;

  /** The words of a text as they are compared; of a library's word also its parts beside the joined form. */
  var pieces = (text, all) => {
    var out = [];
    text = text.toLowerCase().normalize("NFKD").replace(/[\u0300-\u036f\u00b7\u22c5\u00b0\u00ad]|[\u2019'](s\b)?/g, "")
      .replace(/[\u2212\u2010-\u2013]/g, "-").replace(/(\d)\s*\u00d7\s*(?=\d)/g, "$1x").replace(unit, "$1$2");
    for (var word of text.match(/\d[\da-z]*(?:[.,:\/x-]\d[\da-z]*)*|[a-z][a-z\d]*(?:-[a-z\d]+)*/g) || []) {
      word = word.slice(0, 40);
      var number = word < "a", list = word.split(number ? /[\/x-]/ : "-");
      if (number || (all && list[1])) out.push(number ? word : list.join(""));
      if (!number || (all && list[1])) out.push(...list);
    }
    return out;
  };

  /** The words of a question that tell something; where none does, all. */
  var telling = text => {
    var all = pieces(text), some = all.filter(word => !little.has(word));
    return some[0] ? some : all;
  };

  /** A word without its ending: plurals, -ing, -ed, -er and -est, doubled letters, and spellings from overseas. */
  var stem = word => /\d/.test(word) ? word : word.replace(/ies$/, "y").replace(/(ch|sh|ss|x|z)es$/, "$1").replace(/([^sui])s$/, "$1")
    .replace(/([tb])re$/, "$1er").replace(/our(s|ed|ing)?$/, "or$1").replace(/iz(e|ing|ed|er)$/, "is$1")
    .replace(/(.*[aeiouy].*)(ing|ed|er|est|ment)$/, (whole, before) => before[2] ? before : whole)
    .replace(/(.)\1/g, "$1").replace(/(...)e$/, "$1").replace(/(...)y$/, "$1");

  /** How many letters are wrong, left out, too many or changed about; above `most` it only says so. */
  var edits = (a, b, most) => {
    var before = [], last = [], row = [], i, j, low;
    if (Math.abs(a.length - b.length) > most) return 9;
    for (j = 0; j <= b.length; j++) row[j] = j;
    for (i = 1; i <= a.length; i++) {
      [before, last, row] = [last, row, before];
      row[0] = low = i;
      for (j = 1; j <= b.length; j++) {
        row[j] = a[i - 1] === b[j - 1] ? last[j - 1] : 1 + least(last[j - 1], last[j], row[j - 1]);
        if (i > 1 && a[i - 1] === b[j - 2] && a[i - 2] === b[j - 1]) row[j] = least(row[j], before[j - 2] + 1);
        low = least(low, row[j]);
      }
      if (low > most) return 9;
    }
    return row[b.length];
  };
  var away = (one, key) => {
    // Each wrong letter changes two of those that the words have, at most: a look at these spares most of the work.
    for (var apart = one.letters ^ key.letters, count = 0; apart; apart &= apart - 1) count++;
    return count > 2 * one.most ? 9 : least(edits(one.word, key.word, one.most), edits(one.stem, key.stem, one.most));
  };

  /** A word with what it is compared by. */
  var keyFor = word => {
    var letters = 0;
    for (var c of word) letters |= 1 << c.charCodeAt(0) % 32;
    return { word, stem: stem(word), letters, count: 0, chunks: [] };
  };
  var keyOf = word => {
    var key = known.get(word);
    if (!key) {
      known.set(word, key = keyFor(word));
      keyList.push(key);
      stems.set(key.stem, (stems.get(key.stem) || []).concat(key));
    }
    return key;
  };
  var exact = word => (stems.get(stem(word)) || []).map(key => [key, key.word === word ? 1 : 0.93]);

  /** Unpacks the index in small steps, so that the page stays quick while it loads. */
  function* unpacking() {
    var code = {}, signs = 0, last = "", extra = [], i, n, list, key;
    for (var c = 33; c < 127; c++) {
      var sign = String.fromCharCode(c);
      if (sign >= "0" && sign <= "9") code[sign] = -1 - sign;
      else if (!"`\\$<".includes(sign)) {
        // One to four signs make a number; the commonest words take the fewest.
        extra.push(data.ends.findIndex(end => signs < end));
        code[sign] = signs++;
      }
    }
    var unfold = line => last = last.slice(0, code[line[0]]) + line.slice(1);
    for (var line of data.vocabulary.split("\n")) {
      list = pieces(unfold(line), true).map(keyOf);
      for (key of list) key.chunks.push(chunks.length);
      parts.push(list);
      if (chunks.push(last) % 64 === 0) yield;
    }
    last = "";
    addresses = data.hrefs.split("\n").map(unfold);
    for (var row of data.library.split("\n")) {
      firsts.push(starts.length);
      sheets++;
      for (i = 0; i < row.length; i++) {
        var first = code[row[i]];
        if (first < 0) {
          starts.push(tokens.length);
          fields.push(-1 - first);
        } else {
          var number = first - (data.ends[extra[first] - 1] || 0);
          for (n = extra[first]; n > 0; n--) number = number * signs + code[row[++i]];
          tokens.push(number += data.bases[extra[first]]);
          list = parts[number];
          for (n = 0; key = list[n]; n++) if (key.sheet !== sheets) { key.sheet = sheets; key.count++; }
        }
      }
      if (sheets % 8 === 0) yield;
    }
    firsts.push(starts.length);
    starts.push(tokens.length);
    // What a word tells: little where every sheet has it.
    for (key of keyList) key.worth = little.has(key.word) ? 0.01 : 1 - 0.55 * Math.log(key.count + 0.5) / Math.log(sheets + 1);
    yield;
    worths = parts.map(list => more(0, ...list.map(key => key.worth)));
    yield;
    for (i = 0; i < fields.length; i++) {
      wholes[i] = 0;
      for (n = starts[i]; n < starts[i + 1]; n++) wholes[i] += worths[tokens[n]];
      if (i % 512 === 0) yield;
    }
    groups = data.synonyms.split("\n").map(group => group.split(",").map(phrase => telling(phrase).map(keyFor)));
  }
  var work = unpacking(), ready;
  /** Goes on unpacking and calls back when all is ready; without a call to make, unpacks all at once. */
  data.unpack = done => {
    for (var until = performance.now() + 15; !ready && (!done || performance.now() < until);) ready = work.next().done;
    if (done) setTimeout(() => ready ? done() : data.unpack(done));
  };

  /** Which words of the library a word may be, and how surely. */
  var meet = (word, typing) => {
    var one = memo.get(word + typing), length = word.length, begun, best = 0, key;
    if (one) return one;
    memo.set(word + typing, one = keyFor(word));
    one.hits = exact(word);
    one.met = one.hits[0];
    one.sure = one.met || groups.some(group => group.some(phrase => phrase.some(other => other.stem === one.stem)));
    one.worth = least(little.has(word) ? 0.01 : 0.9, ...one.hits.map(hit => hit[0].worth));
    one.most = /\d/.test(word) || length < 4 ? 0 : length < 8 ? 1 : 2;
    for (key of keyList) if (length > (typing ? 0 : 3) && key.stem !== one.stem && key.word.startsWith(word)) {
      one.hits.push([key, typing ? 0.65 + 0.25 * length / key.word.length : 0.5]);
      if (typing) begun = one.met = true;
    }
    if (one.most && !one.sure) for (key of keyList) {
      if (!key.word[2] || little.has(key.word)) continue;
      var wrong = away(one, key);
      // Of a word that is being typed, the beginning may be wrong.
      if (wrong > one.most && typing && length > 4 && !begun) wrong = edits(word, key.word.slice(0, length), 1) + 1;
      if (wrong > 2) continue;
      one.hits.push([key, (begun ? 0.35 : 0.65) - 0.12 * wrong]);
      var like = 9 - wrong + key.count / 1e4;
      if (!begun && like > best) { best = like; one.read = key.word; }
    }
    return one;
  };

  /** A question made ready: its words, what else they may be, and which chunks of the library speak to which. */
  var plan = query => {
    var typing = /\S$/.test(query) ? "*" : "", said = telling(query.slice(0, 200)).slice(0, 16), marks = chunks.map(() => 0), also = [], places = said.length, all = 0;
    var asked = said.map((word, i) => meet(word, said[i + 1] ? "" : typing));
    var mark = (place, hits, factor) => {
      for (var hit of hits) for (var chunk of hit[0].chunks) (marks[chunk] = marks[chunk] || []).push(place, hit[1] * factor);
    };
    // Other words stand for a run of the asked ones; where they are several, all must stand in the line.
    var other = (begin, end, list, factor) => {
      list = list.map(exact);
      if (!list[0] || !list.every(hits => hits[0])) return;
      if (list[1]) also.push({ begin, end, factor, at: list.map(hits => (mark(places, hits, 1), places++)) });
      for (var i = begin; i <= end; i++) {
        if (!list[1]) mark(i, list[0], factor);
        asked[i].known = true;
      }
    };
    var like = (one, key) => {
      if (!one || one.word === key.word || one.stem === key.stem) return one ? 1 : 0;
      if (one.sure) return 0;
      return typing && one === asked[asked.length - 1] && one.word[2] && key.word.startsWith(one.word) ? 0.8 : !one.met && away(one, key) <= one.most ? 0.7 : 0;
    };
    asked.forEach((one, i) => {
      var word = one.word;
      all += one.worth;
      mark(i, one.hits, 1);
      if (said[i + 1]) other(i, i + 1, [word + said[i + 1]], 0.95);
      for (var cut = 3; !one.met && cut < word.length - 2; cut++) other(i, i, [word.slice(0, cut), word.slice(cut)], 0.85);
      for (var group of groups) for (var phrase of group) {
        var same = least(...phrase.map((key, n) => like(asked[i + n], key)));
        if (same) for (var instead of group) if (instead !== phrase) other(i, i + phrase.length - 1, instead.map(key => key.word), 0.82 * same);
      }
    });
    return {
      asked, also, marks, best: new Float64Array(places),
      share: list => { for (var i = 0, sum = 0; i < asked.length; i++) sum += list[i] * asked[i].worth; return sum / all; }
    };
  };
  /** How well a line answers each word of the question, in `best`; what its words that do so are worth. */
  var weigh = (line, on) => {
    var best = on.best, told = 0, i;
    for (var t = starts[line] + (fields[line] === 4); t < starts[line + 1]; t++) {
      var hits = on.marks[tokens[t]];
      if (!hits) continue;
      if (!told) best.fill(0);
      told += worths[tokens[t]];
      for (i = 0; i < hits.length; i += 2) if (hits[i + 1] > best[hits[i]]) best[hits[i]] = hits[i + 1];
    }
    if (told) for (var other of on.also) if (other.at.every(place => best[place])) {
      for (i = other.begin; i <= other.end; i++) best[i] = more(best[i], other.factor);
    }
    return told;
  };
  var rate = (sheet, on) => {
    var most = on.asked.map(() => 0), cover = most.slice(), best = on.best, top = 0, shown = 0, close = 0, told;
    for (var line = firsts[sheet]; line < firsts[sheet + 1]; line++) {
      var share = weigh(line, on) / wholes[line], field = fields[line], worth = WORTH[field], sum = share && on.share(best);
      for (var i = 0; share && i < most.length; i++) {
        most[i] = more(most[i], best[i] * worth);
        cover[i] = more(cover[i], best[i]);
      }
      // A question as a whole that is much the same as a title or an ask.
      if (field && field < 4) close = more(close, sum * share);
      top = more(top, sum * worth);
      // The line to show is the one that says most of the question.
      if (sum * sum * worth > shown) { shown = sum * sum * worth; told = line; }
    }
    if (!shown) return [];
    var head = starts[firsts[sheet]], kind = chunks[tokens[head + 1]], whole = on.share(cover);
    var score = on.share(most) * (0.25 + 0.75 * whole) + 0.7 * top + 9 * close * close + (kind === "reply" ? close / 3 : 0);
    return [{ sheet, line: told, whole, score: score * (BEHIND[kind] || BEHIND[chunks[tokens[head + 2]]] || 1) }];
  };

  /** A line as runs of text: [text, whether it matched]. */
  var runs = (line, on) => {
    weigh(line, on);
    var tells = place => on.asked[place] || on.also.some(other => other.at.includes(place) && other.at.every(one => on.best[one]));
    return tokens.slice(starts[line] + (fields[line] === 4), starts[line + 1] - (fields[line] === 6)).flatMap((token, i) => {
      var text = (i ? " " : "") + chunks[token];
      if (!(on.marks[token] || []).some((place, n) => n % 2 === 0 && tells(place))) return [[text]];
      var cut = text.match(/^([^\p{L}\p{N}]*)(.*?)([^\p{L}\p{N}]*)$/u);
      return [[cut[1]], [cut[2], true], [cut[3]]];
    });
  };
  var show = (rated, on) => {
    var line = firsts[rated.sheet], told = rated.line, head = tokens.slice(starts[line], starts[line + 1]).map(token => chunks[token]);
    // Where the title says it all, the sheet's summary, its last line, stands below it.
    var says = fields[told];
    if (says < 2) told = firsts[rated.sheet + 1] - 1;
    var field = fields[told];
    return {
      number: head[0], kind: head[1], href: addresses[rated.sheet], title: runs(line + 1, on), score: rated.score,
      field: ["", "", "asked", "symptom", "operation", "part", "figure", ""][field], runs: runs(told, on),
      fragment: field === 4 ? chunks[tokens[starts[told]]] : "",
      figure: field === 6 ? chunks[tokens[starts[told + 1] - 1]] : says < 4 && head[3]
    };
  };

  /** The sheets that answer, best first, as calls that make the row; with what was read otherwise and what is nowhere. */
  data.find = query => {
    data.unpack();
    var on = plan(query), rated = addresses.flatMap((href, sheet) => rate(sheet, on)).sort((a, b) => b.score - a.score), top = rated[0];
    var found = rated.filter(one => one.score > 0.2 * top.score && one.whole > 0.4 * top.whole).map(one => () => show(one, on));
    found.read = on.asked.filter(one => one.read);
    found.missing = on.asked.filter(one => !one.hits[0] && !one.known).map(one => one.word);
    return found;
  };
  /** Words of the library that look most like one that it hasn't. */
  data.nearest = word => keyList.map(key => [edits(word, key.word, 4) - key.count / 1e4, key.word])
    .filter(near => near[0] < word.length / 2 && near[1][2]).sort((a, b) => a[0] - b[0]).slice(0, 5).map(near => near[1]);
})();
