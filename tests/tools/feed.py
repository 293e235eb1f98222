"""Holds the feed of changed figures to RFC 4287, by a parser that isn't ours.

A library is laid down, a stated figure is changed and signed, and the site pressed twice: with an empty feed first. The
parser refuses a feed that lacks what the standard asks for; what it lets pass is looked at here: names that are there once,
entries from the latest on, links that lead to pages of the site.

    python feed.py PROGRAM
"""

import pathlib
import subprocess
import sys
import tempfile

import atoma

SITE = "https://tollgate.example/guides"


def run(program, folder, *words):
    done = subprocess.run([program, *words], cwd=folder, capture_output=True, text=True)
    if done.returncode != 0:
        sys.exit(f"{' '.join(words)} ended with {done.returncode}:\n{done.stdout}{done.stderr}")


def parsed(folder):
    return atoma.parse_atom_file(str(folder / "pressed" / "changed-figures.atom"))


def look(program, folder):
    found = []
    run(program, folder, "fit-out", str(folder / "ours"))
    ours = folder / "ours"
    shop = ours / "content" / "shop.yaml"
    if f"site: {SITE}" not in shop.read_text():
        sys.exit("the laid down shop has another address than this check thinks")
    run(program, ours, "press")
    empty = parsed(ours)
    if empty.entries:
        found.append("a feed in which nothing has changed yet has entries")
    stock = ours / "content" / "stated" / "stock.yaml"
    for day, links in (("2026-07-01", 118), ("2026-08-01", 120)):
        stock.write_text(stock.read_text().replace("116 links", f"{links} links").replace("118 links", f"{links} links"))
        run(program, ours, "sign", "--by", "AB", "--with", "CD", "--on", day, "--because", f"box & shelf <{links}>")
    run(program, ours, "press")
    feed = parsed(ours)
    ids = [entry.id_ for entry in feed.entries] + [feed.id_]
    if len(set(ids)) != len(ids):
        found.append(f"a name stands twice: {ids}")
    days = [entry.updated for entry in feed.entries]
    if days != sorted(days, reverse=True) or not days:
        found.append(f"entries are not from the latest on: {days}")
    if feed.updated != max(days):
        found.append(f"the feed is of {feed.updated}, its latest entry of {max(days)}")
    if any(day.tzinfo is None for day in days):
        found.append("a time has no zone")
    for entry in feed.entries:
        address = next(link.href for link in entry.links if link.rel == "alternate")
        page = ours / "pressed" / address.removeprefix(SITE + "/")
        if not page.is_file():
            found.append(f"{address} is no page of the site")
        if "links" not in entry.content.value or "<" not in entry.content.value:
            found.append(f"an entry does not say what changed and why: {entry.content.value}")
    if not any(link.rel == "self" and link.href == f"{SITE}/changed-figures.atom" for link in feed.links):
        found.append("the feed does not say where it stands")
    if not feed.authors:
        found.append("the feed has no author, and neither have its entries")
    front = (ours / "pressed" / "index.html").read_text()
    if "118 links" not in front or "120 links" not in front:
        found.append("the front page does not list what changed")
    print(f"a feed of {len(feed.entries)} entries read, and one of none")
    return found


def main():
    program = str(pathlib.Path(sys.argv[1]).resolve())
    with tempfile.TemporaryDirectory() as folder:
        found = look(program, pathlib.Path(folder))
    print("\n".join(found) if found else "nothing found")
    sys.exit(bool(found))


main()
