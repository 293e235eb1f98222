"""Looks for signs that a reader would see in a face that isn't the sheet's: reads every word of a pressed site, asks the
stylesheet which families set it, and lists each character that none of the bundled faces of that stack holds. Text of
drawings is also held against the faces that pictures are lettered with, and the weight of all web faces to its limit.

    python tests/tools/signs.py SITE_DIR PICTURE_FACES_DIR [BYTES]     BYTES: of web faces at most, for tests of the test

Code is set in the reader's own fixed-width face and is left out. Text is held against the stack for words and the
stack for labels, at every weight and slope that the stylesheet has a file for, since any word may stand in either.
Needs fonttools and brotli as pinned in requirements.txt.
"""

import re
import sys
import unicodedata
from html.parser import HTMLParser
from pathlib import Path

from fontTools.ttLib import TTFont

LIGHT_ENOUGH = 120_000
SHOWN_ATTRIBUTES = ("alt", "placeholder", "title", "value", "data-number")
# Elements whose text no reader sees, or sees in a face of their own device.
UNREAD = ("title", "desc", "style", "template")
CODE = ("code", "pre", "kbd", "samp")
VOID = ("area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta", "source", "track", "wbr", "mspace")
STRING = re.compile(r""""((?:[^"\\\n]|\\.)*)"|'((?:[^'\\\n]|\\.)*)'""")
FORMULA = "formulas"


class Stylesheet:
    """The faces that a stylesheet brings and the stacks of families that it names."""

    def __init__(self, path, text):
        text = re.sub(r"/\*.*?\*/", "", text, flags=re.S)
        self.faces = []
        self.content = [from_css(a or b) for rule in re.findall(r"content:([^;}]*)", text) for a, b in STRING.findall(rule)]
        for body in re.findall(r"@font-face\s*\{([^}]*)\}", text):
            address = re.search(r"url\(\s*[\"']?([^\"')]+)", body)
            if address:
                self.faces.append(Face(body, path.parent / address[1]))
        bundled = {face.family for face in self.faces}
        stacks = re.findall(r"--([\w-]+)\s*:\s*([^;}]*)", text) + [(FORMULA, s) for s in re.findall(r"\bmath\{font-family:([^;}]*)", text)]
        self.stacks = {}
        for name, value in stacks:
            families = [family.strip().strip("\"'") for family in value.split(",")]
            if families[0] in bundled:
                self.stacks.setdefault(name, []).append([family for family in families if family in bundled])

    def lacking(self, sign, stack):
        """The faces of a stack's first family that show this sign in none of the bundled ones."""
        lacking = []
        for families in self.stacks.get(stack, []):
            first = [face for face in self.faces if face.family == families[0]]
            rest = [face for face in self.faces if face.family in families[1:]]
            elsewhere = any(face.has(sign) for face in rest)
            for manner in {face.manner for face in first}:
                if not elsewhere and not any(face.has(sign) for face in first if face.manner == manner):
                    lacking.append(f"{families[0]} {manner}")
        return sorted(set(lacking))


class Face:
    """One @font-face rule with a file."""

    def __init__(self, body, path):
        value = lambda key, usual: (re.search(rf"{key}\s*:\s*([^;]*)", body) or [usual, usual])[1].strip().strip("\"'")
        self.family = value("font-family", "")
        style = value("font-style", "normal")
        self.manner = value("font-weight", "400") + ("" if style == "normal" else f" {style}")
        self.path = path.resolve()
        self.ranges = [ends(part) for part in value("unicode-range", "U+0-10FFFF").split(",")]
        self.signs = signs_of(self.path) if self.path.is_file() else None

    def has(self, sign):
        return bool(self.signs) and sign in self.signs and any(low <= sign <= high for low, high in self.ranges)


def ends(part):
    low, _, high = part.strip()[2:].partition("-")
    return int(low, 16), int(high or low, 16)


KEPT = {}


def signs_of(path):
    """The code points that a font file has."""
    if path not in KEPT:
        KEPT[path] = set(TTFont(path, lazy=True).getBestCmap())
    return KEPT[path]


def from_css(text):
    """A string of a stylesheet with its numbered signs put in."""
    return re.sub(r"\\([0-9a-fA-F]{1,6})\s?", lambda found: chr(int(found[1], 16)), text)


def from_script(text):
    """A string of a script with its numbered signs put in."""
    number = r"\\u\{([0-9a-fA-F]+)\}|\\u([0-9a-fA-F]{4})|\\x([0-9a-fA-F]{2})"
    return re.sub(number, lambda found: chr(int(found[1] or found[2] or found[3], 16)), text)


def strings_of(script):
    """What stands in the strings of a script, which may reach a page."""
    script = re.sub(r"/\*.*?\*/|(?m:^\s*//.*$)", "", script, flags=re.S)
    return "".join(from_script(a or b) for a, b in STRING.findall(script))


def sloping(letter):
    """The sign that a browser sets for a formula's single letter: the sloping one (MathML Core, math-auto)."""
    if letter == "h":
        return "\u210e"
    if "A" <= letter <= "Z":
        return chr(0x1D434 + ord(letter) - ord("A"))
    if "a" <= letter <= "z":
        return chr(0x1D44E + ord(letter) - ord("a"))
    if "Α" <= letter <= "Ω":
        return chr(0x1D6E2 + ord(letter) - 0x391)
    if "α" <= letter <= "ω":
        return chr(0x1D6FC + ord(letter) - 0x3B1)
    return letter


class Page(HTMLParser):
    """The text of one page: words, letters of formulas, and lettering of drawings."""

    def __init__(self):
        super().__init__(convert_charrefs=True)
        self.open = []
        self.words, self.formulas, self.lettering = set(), set(), set()
        self.pictures = []
        self.styles = []

    def handle_starttag(self, tag, attributes):
        attributes = dict(attributes)
        if tag == "link" and attributes.get("rel") == "stylesheet":
            self.styles.append(attributes.get("href", ""))
        if tag not in ("meta", "link"):
            self.words.update(*(attributes.get(name) or "" for name in SHOWN_ATTRIBUTES))
        if tag not in VOID:
            self.open.append((tag, attributes))

    def handle_startendtag(self, tag, attributes):
        self.handle_starttag(tag, attributes)
        if tag not in VOID:
            self.open.pop()

    def handle_endtag(self, tag):
        names = [name for name, _ in self.open]
        if tag in names:
            del self.open[len(names) - 1 - names[::-1].index(tag):]

    def handle_data(self, text):
        names = [name for name, _ in self.open]
        last, attributes = self.open[-1] if self.open else ("", {})
        if last == "script":
            if "json" not in attributes.get("type", ""):
                self.words.update(strings_of(text))
        elif any(name in UNREAD or name in CODE for name in names):
            return
        elif "math" in names:
            self.formula(last, attributes, text)
        else:
            self.words.update(text)
            if "svg" in names:
                self.lettering.update(text)

    def formula(self, last, attributes, text):
        letter = text.strip()
        if last == "mtext" or "in-words" in attributes.get("class", ""):
            self.words.update(text)
        elif last == "mi" and len(letter) == 1 and attributes.get("mathvariant") != "normal":
            self.formulas.add(sloping(letter))
        else:
            self.formulas.update(letter)


def is_seen(sign):
    """Marks that a browser never draws need no face: line ends, controls, joiners, the unseen signs of formulas."""
    return unicodedata.category(sign) not in ("Cc", "Cf")


def told(sign):
    return f"U+{ord(sign):04X} {sign} ({unicodedata.name(sign, 'without a name').lower()})"


def check(site, pictures, most):
    """All findings over a site, and what was looked at in words."""
    findings, sheets, everything = [], {}, set()
    pages = sorted(site.rglob("*.html"))
    shared = set().union(*(strings_of(path.read_text("utf-8")) for path in site.rglob("*.js")), set())
    drawn = {path.name: signs_of(path) for path in sorted(pictures.glob("*.ttf"))}
    lettered = set().union(*drawn.values(), set())
    for path in pages:
        page = Page()
        page.feed(path.read_text("utf-8"))
        where = path.relative_to(site).as_posix()
        for address in page.styles:
            css = (path.parent / address).resolve()
            if css.is_file() and css not in sheets:
                sheets[css] = Stylesheet(css, css.read_text("utf-8"))
        sheet = next((sheets[css] for css in ((path.parent / a).resolve() for a in page.styles) if css in sheets), None)
        if sheet is None:
            if page.styles:
                findings.append((where, "no-stylesheet", f"{page.styles[0]} can't be read"))
            continue
        findings += check_page(where, page, sheet, shared, lettered)
        everything |= page.words | page.formulas | shared
    total, count = weigh(site, sheets, most, findings)
    seen = len([sign for sign in everything if is_seen(sign)])
    looked = f"{len(pages)} pages, {seen} different signs, {count} web faces of {total} bytes ({most} allowed), {len(drawn)} faces of pictures"
    return gathered(findings), looked


def gathered(findings):
    """One finding for each sign and stack, at the first page that shows it, with the number of pages."""
    pages = {}
    for where, name, detail in findings:
        pages.setdefault((name, detail), set()).add(where)
    found = [(min(where), name, detail + (f" [{len(where)} pages]" if len(where) > 1 else "")) for (name, detail), where in pages.items()]
    return sorted(found)


def check_page(where, page, sheet, shared, lettered):
    """What one page shows and no bundled face has."""
    findings = []
    words = page.words | shared | set("".join(sheet.content))
    for stack in sheet.stacks:
        for sign in sorted(filter(is_seen, page.formulas if stack == FORMULA else words)):
            faces = sheet.lacking(ord(sign), stack)
            if faces:
                findings.append((where, "no-sign", f"{told(sign)} is in no face of the stack {stack}: {', '.join(faces)}"))
    for sign in sorted(filter(is_seen, page.lettering)):
        if ord(sign) not in lettered and sign != "\n":
            findings.append((where, "no-sign-in-pictures", f"{told(sign)} is in no face that pictures are lettered with"))
    return findings


def weigh(site, sheets, most, findings):
    """Bytes and number of the web faces; a file without a rule, or a rule without a file, is a finding."""
    named = {face.path for sheet in sheets.values() for face in sheet.faces}
    there = {path.resolve() for path in site.rglob("*.woff2")}
    name = lambda path: path.relative_to(site).as_posix() if path.is_relative_to(site) else path.name
    findings += [(name(path), "face-missing", "the stylesheet names this face, and there is no such file") for path in named if not path.is_file()]
    findings += [(name(path), "face-unused", "no stylesheet names this face") for path in there - named]
    files = [path for path in named | there if path.is_file()]
    total = sum(path.stat().st_size for path in files)
    if total > most:
        findings.append((".", "too-heavy", f"{total} bytes of web faces, {most} allowed"))
    return total, len(files)


def main():
    if len(sys.argv) not in (3, 4):
        print("usage: python signs.py SITE_DIR PICTURE_FACES_DIR [BYTES]", file=sys.stderr)
        return 2
    site, pictures = Path(sys.argv[1]).resolve(), Path(sys.argv[2])
    if not any(site.rglob("*.html")) or not any(pictures.glob("*.ttf")):
        print("no page, or no face of pictures: nothing was checked")
        return 1
    findings, looked = check(site, pictures, int(sys.argv[3]) if len(sys.argv) == 4 else LIGHT_ENOUGH)
    for where, name, detail in findings:
        print(f"{where}: {name}: {detail}")
    print(f"{looked}; {f'{len(findings)} found' if findings else 'nothing found'}")
    return 1 if findings else 0


if __name__ == "__main__":
    sys.exit(main())
