"""Works out the rules for the faces that stand in until ours have come: how much a device's own face is drawn smaller
(size-adjust) so that text is as wide on average as in ours, by how often each sign stands in a pressed site, and where
its line then begins and ends. Nobody needs this to press or to test; faces.py says where our own faces come from.

    npm pack @fontsource/arimo@5.3.0 @fontsource/roboto@5.3.0     (Arimo has Arial's widths)
    python tests/tools/widths.py SITE_DIR STAND_IN_400 STAND_IN_700

A stand-in for 600 is the device's bold face (700), which is what a browser finds under that name.
"""

import collections
import html
import re
import sys
from pathlib import Path

from fontTools.ttLib import TTFont

FACES = Path(__file__).resolve().parents[2] / "themes/sheet/type"


def counted(site):
    """How often each sign of Latin-1 stands in the words of a site."""
    signs = collections.Counter()
    for path in site.rglob("*.html"):
        text = re.sub(r"<(script|style|math|pre|title|desc).*?</\1>", " ", path.read_text("utf-8"), flags=re.S)
        signs.update(re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", text))))
    return {sign: times for sign, times in signs.items() if 32 <= ord(sign) < 256}


def mean_width(path, signs):
    """The mean width of these signs, in parts of the size."""
    font = TTFont(path)
    names, widths = font.getBestCmap(), font["hmtx"]
    there = {sign: times for sign, times in signs.items() if ord(sign) in names}
    sum_of_widths = sum(widths[names[ord(sign)]][0] * times for sign, times in there.items())
    return sum_of_widths / sum(there.values()) / font["head"].unitsPerEm


def main():
    if len(sys.argv) != 4:
        sys.exit("usage: python widths.py SITE_DIR STAND_IN_400 STAND_IN_700")
    signs = counted(Path(sys.argv[1]))
    for family in ("barlow", "barlow-condensed"):
        for weight, stand_in in (("400", sys.argv[2]), ("600", sys.argv[3])):
            path = FACES / f"{family}-{weight}.woff2"
            line = TTFont(path)["hhea"]
            ratio = mean_width(path, signs) / mean_width(stand_in, signs)
            up, down = line.ascent / 10 / ratio, -line.descent / 10 / ratio
            print(f"{family} {weight}: size-adjust:{100 * ratio:.1f}%;ascent-override:{up:.1f}%;descent-override:{down:.1f}%")


if __name__ == "__main__":
    main()
