"""Makes the typefaces of sheets and drawings again from the published faces: one WOFF2 a weight for pages, the same as
TTF for pictures. Nobody needs this to press or to test; it is here so that a sign can be added and the faces stay
explained. The sources are checked by hash, and the same sources give the same bytes.

    npm pack @expo-google-fonts/barlow@0.4.1 @expo-google-fonts/barlow-condensed@0.4.1 @fontsource/noto-sans-math@5.3.0
    (unpack each into SOURCES/barlow, SOURCES/barlow-condensed, SOURCES/noto-sans-math)
    python tests/tools/faces.py SOURCES [ROOT]

ROOT is where themes/ and diagrams/ lie (this repository). Needs fonttools and brotli as pinned in requirements.txt.
"""

import hashlib
import sys
from pathlib import Path

from fontTools import subset
from fontTools.ttLib import TTFont, newTable
from fontTools.ttLib.tables._g_l_y_f import Glyph, GlyphComponent

# name of the made face: (source, its sha256, family, style)
SOURCES = {
    "barlow-400": (
        "barlow/400Regular/Barlow_400Regular.ttf",
        "77fb1ac54d2ceb980e3ebdfa7a9d0f64e85a66e4fdfb7f914a7b0aa08fb33a5d",
        "Barlow", "Regular"),
    "barlow-400-italic": (
        "barlow/400Regular_Italic/Barlow_400Regular_Italic.ttf",
        "b4f6fcb952de98bb75f9754526213f4a8f5bf0878638e60730c8bc947f29ce2a",
        "Barlow", "Italic"),
    "barlow-600": (
        "barlow/600SemiBold/Barlow_600SemiBold.ttf",
        "07ea3ff2743cf6716122a520c5e6f1aed0e75c079bc3b75e512fbf1a85caef9b",
        "Barlow", "SemiBold"),
    "barlow-condensed-400": (
        "barlow-condensed/400Regular/BarlowCondensed_400Regular.ttf",
        "dd8271eb0ced7add028539113155a99000c1e62dee2dc48a1b2765c00f4862ab",
        "Barlow Condensed", "Regular"),
    "barlow-condensed-600": (
        "barlow-condensed/600SemiBold/BarlowCondensed_600SemiBold.ttf",
        "571bbdabf1bca470ee84d51b77fe02ed3b9efa26d75799ef3dd8dd87b38ba9e0",
        "Barlow Condensed", "SemiBold"),
    "sheet-symbols-400": (
        "noto-sans-math/files/noto-sans-math-latin-400-normal.woff2",
        "c39a9444f95747345dcbde1032ec0ea2af1db63dccf53a31b38a957bdcf4a01f",
        "Sheet Symbols", "Regular"),
}

# Drawings are lettered in these; the others are for pages alone.
FOR_PICTURES = ("barlow-condensed-400", "barlow-condensed-600", "sheet-symbols-400")

# Written as code points, one or from-to.
LETTERS = """
    20-7E A0-137 139-17E 192 218-21B 259 1E80-1E85 1EF2-1EF3
    394 3A9 3BC 3C0
    2010 2013-2014 2018-201A 201C-201E 2020-2022 2026 2030 2032-2033 2039-203A 2044
    2074-2079 20AC 2122 2126 215B-215E
    2202 2206 220F 2211-2212 2215 2219-221A 221E 222B 2248 2260 2264-2265"""

# What Barlow lacks and text or formulas may need. Formulas also need upright and sloping Latin and Greek letters.
SYMBOLS = """
    20-7E A0 AC B0-B1 B7 D7 F7
    391-3A1 3A3-3A9 3B1-3C9 3D1 3D5-3D6 3F0-3F1 3F5
    2009 200B 2010 2014 2016 2018-2019 201C-201D 2020-2022 2026 202F 2032-2034 2044 210E 2113
    2190-2199 21B6-21B7 21BA-21BB 21C4 21D0-21D2 21D4
    2200 2202-2203 2205-2206 2208-2209 2211-2213 2215 2218-221A 221D-221E 2220 2225 2227-222B 2234-2236
    223C 2245 2248 2260-2261 2264-2265 226A-226B 2295 2297 2299 22A5 22C5 22EE-22F1
    2300 2308-230B 25A0-25A1 25B2-25B3 25B6-25B7 25BC-25BD 25C0-25C1 25CB 25CF 27E8-27E9
    1D434-1D454 1D456-1D467 1D6A4-1D6A5 1D6E2-1D71B"""

# Spaces that Barlow lacks, in thousandths of the size: without them one thin space would fetch the symbols too.
SPACES = {0x2009: 200, 0x200A: 100, 0x200B: 0, 0x202F: 200}

# Nothing to see: the marks that MathML puts between factors, and after a function's name.
UNSEEN = {0x2061: 0, 0x2062: 0, 0x2063: 0}

# Signs that Barlow lacks, put together from those that it has: (sign, parts one after another).
FRACTIONS = {
    0x2153: ("one", "three"), 0x2154: ("two", "three"), 0x2155: ("one", "five"), 0x2156: ("two", "five"),
    0x2157: ("three", "five"), 0x2158: ("four", "five"), 0x2159: ("one", "six"), 0x215A: ("five", "six"),
}
# (sign, letter, the letter with a breve whose own breve is taken, that letter without it)
BREVES = {0x114: ("E", "Abreve", "A"), 0x115: ("e", "abreve", "a"), 0x12C: ("I", "Abreve", "A"), 0x14E: ("O", "Abreve", "A")}
# (sign, first glyph, second glyph)
PAIRS = {0x132: ("I", "J"), 0x13F: ("L", "periodcentered"), 0x149: ("quoteright", "n")}
# (sign, glyph that stands for it)
SAME = {0x2011: 0x2010}

# Kerning, ligatures of f, figures of one width for tables, and letters that a language shapes its own way.
FEATURES = ["kern", "liga", "tnum", "locl", "ccmp"]
# Ligatures that would change what a text says: two hyphens of a command, or an I before a J.
NO_LIGATURE = ("I", "g", "i", "hyphen")


def signs(text):
    """The code points of a list such as `20-7E A0`."""
    found = set()
    for part in text.split():
        first, _, last = part.partition("-")
        found.update(range(int(first, 16), int(last or first, 16) + 1))
    return found


def add_glyph(font, sign, name, glyph, width):
    """Puts one more glyph into a font, and its sign into every table of signs that can hold it."""
    font.getGlyphOrder()
    font["glyf"][name] = glyph
    font["hmtx"][name] = (width, 0)
    glyph.recalcBounds(font["glyf"])
    font["hmtx"][name] = (width, getattr(glyph, "xMin", 0))
    for table in font["cmap"].tables:
        if table.isUnicode() and sign < 0x10000:
            table.cmap[sign] = name


def composed(parts):
    """A glyph of other glyphs, each moved by (x, y)."""
    glyph = Glyph()
    glyph.numberOfContours = -1
    glyph.components = []
    for name, x, y in parts:
        part = GlyphComponent()
        part.glyphName, part.x, part.y, part.flags = name, x, y, 0x4
        glyph.components.append(part)
    glyph.components[0].flags |= 0x200
    return glyph


def width(font, name):
    return font["hmtx"][name][0]


def add_fractions(font):
    """Thirds, fifths and sixths from the small figures that Barlow's own fractions are made of."""
    for sign, (top, bottom) in FRACTIONS.items():
        numerator, denominator = f"{top}.numr", f"{bottom}.dnom"
        at = width(font, numerator) + (font["glyf"]["onehalf"].components[1].x - width(font, "one.numr"))
        start = at + width(font, "fraction")
        glyph = composed([(numerator, 0, 0), ("fraction", at, 0), (denominator, start, 0)])
        add_glyph(font, sign, f"uni{sign:04X}", glyph, start + width(font, denominator))


def add_breves(font):
    """Letters with a breve, which stands over the middle as on Barlow's own."""
    glyf = font["glyf"]
    middle = lambda name: (glyf[name].xMin + glyf[name].xMax) / 2
    for sign, (letter, model, bare) in BREVES.items():
        breve = glyf[model].components[1]
        x = round(breve.x + middle(letter) - middle(bare))
        glyph = composed([(letter, 0, 0), (breve.glyphName, x, breve.y)])
        add_glyph(font, sign, f"uni{sign:04X}", glyph, width(font, letter))


def add_pairs(font):
    """Two letters as one sign; the dot of Catalan's L stands above the foot, not after it."""
    for sign, (first, second) in PAIRS.items():
        if sign == 0x13F:
            parts, wide = [(first, 0, 0), (second, width(font, first) - width(font, second), 0)], width(font, first)
        else:
            parts, wide = [(first, 0, 0), (second, width(font, first), 0)], width(font, first) + width(font, second)
        add_glyph(font, sign, f"uni{sign:04X}", composed(parts), wide)


def add_blanks(font, widths):
    for sign, wide in widths.items():
        if sign not in font.getBestCmap():
            add_glyph(font, sign, f"uni{sign:04X}", Glyph(), wide)


def drop_ligatures(font):
    """Takes out the ligatures that change a text."""
    for lookup in font["GSUB"].table.LookupList.Lookup:
        if lookup.LookupType == 4:
            for table in lookup.SubTable:
                if "f" in table.ligatures:
                    for first in NO_LIGATURE:
                        table.ligatures.pop(first, None)


def name_face(font, family, style):
    """Leaves the names that a reader of fonts needs, with the copyright and licence of the source."""
    names = font["name"]
    kept = {number: names.getDebugName(number) for number in (0, 5, 14)}
    kept[13] = "This Font Software is licensed under the SIL Open Font License, Version 1.1."
    kept.update({1: family, 2: style, 4: f"{family} {style}", 6: f"{family.replace(' ', '')}-{style}"})
    names.names = []
    for number, text in sorted(kept.items()):
        if text:
            names.setName(text, number, 3, 1, 0x409)


def cut(font, wanted):
    """Cuts a font down to these signs, without hints and glyph names."""
    options = subset.Options()
    options.layout_features = FEATURES
    options.hinting = options.glyph_names = options.legacy_kern = False
    options.notdef_outline = True
    options.name_IDs = ["*"]
    options.recalc_timestamp = False
    options.drop_tables += ["DSIG", "gasp", "meta"]
    cutter = subset.Subsetter(options)
    cutter.populate(unicodes=wanted)
    cutter.subset(font)


def smooth(font):
    """A face without hints says so: smoothed at every size."""
    table = newTable("gasp")
    table.version, table.gaspRange = 1, {0xFFFF: 0xF}
    font["gasp"] = table


def make(root, name):
    """One face, ready to be saved."""
    path, digest, family, style = SOURCES[name]
    data = (root / path).read_bytes()
    if hashlib.sha256(data).hexdigest() != digest:
        sys.exit(f"{path} is not the file that these faces are made of (its hash differs)")
    font = TTFont(root / path, recalcTimestamp=False)
    if family == "Sheet Symbols":
        add_blanks(font, UNSEEN)
        wanted = signs(SYMBOLS) | set(UNSEEN)
    else:
        add_fractions(font)
        add_breves(font)
        add_pairs(font)
        add_blanks(font, SPACES)
        drop_ligatures(font)
        for table in font["cmap"].tables:
            table.cmap.update({sign: table.cmap[like] for sign, like in SAME.items() if like in table.cmap})
        wanted = signs(LETTERS) | set(FRACTIONS) | set(BREVES) | set(PAIRS) | set(SPACES) | set(SAME)
    name_face(font, family, style)
    cut(font, wanted)
    smooth(font)
    lacking = sorted(wanted - set(font.getBestCmap()))
    print(f"{name}: {len(font.getBestCmap())} signs; the source lacks {' '.join(f'U+{s:04X}' for s in lacking) or 'none'}")
    return font


def main():
    if len(sys.argv) not in (2, 3):
        sys.exit("usage: python faces.py SOURCES [ROOT]")
    sources = Path(sys.argv[1])
    root = Path(sys.argv[2]) if len(sys.argv) == 3 else Path(__file__).resolve().parents[2]
    total = 0
    for name in SOURCES:
        font = make(sources, name)
        if name in FOR_PICTURES:
            font.flavor = None
            font.save(root / "diagrams/type" / f"{name}.ttf")
        font.flavor = "woff2"
        path = root / "themes/sheet/type" / f"{name}.woff2"
        font.save(path)
        total += path.stat().st_size
        print(f"  {path.stat().st_size} bytes")
    print(f"{total} bytes of WOFF2 in {len(SOURCES)} files")


if __name__ == "__main__":
    main()
