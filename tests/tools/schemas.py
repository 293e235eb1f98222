"""The schemas for editors, held by a validator that isn't ours against the starter library and against our mistakes.

    python schemas.py SCHEMAS CONTENT MISTAKES

SCHEMAS is a folder that `locknut meaning --schemas` wrote. Every schema must be one of draft 2020-12; every file,
front matter and block of CONTENT must be valid; every case below MISTAKES whose faults a schema can refuse must be
refused, and every other case that can be read as YAML must not be: a schema says no more than the reader does.
"""

import json
import re
import sys
from pathlib import Path

from jsonschema import Draft202012Validator
from ruamel.yaml import YAML
from ruamel.yaml.constructor import SafeConstructor
from ruamel.yaml.error import YAMLError

# The faults that a schema can refuse: what stands in one file, and needs no sum and no other file.
REFUSED = {
    "unknown-key", "missing-key", "missing-value", "wrong-shape", "unknown-word", "bad-date", "unknown-kind",
    "answer-way", "one-answer", "bad-step",
}
# Faults of which a schema tells some, those that lie in the form of a text.
SOME = {"bad-name", "bad-value", "bad-number", "unit-of-another-kind"}
# Cases of the first that a schema can't tell, each with what it would have to know.
BEYOND = {
    "parse/attribute-word": "the words of a family's attribute stand in the family's own file",
    "parse/rule-word-never": "the words of a family's attribute stand in the family's own file",
    "read/attribute-list": "whether an attribute takes a list stands in the family's own file",
    "read/attribute-yes-or-no": "whether an attribute is yes or no stands in the family's own file",
    "read/equation-without-decimals": "which results have decimals hangs on the names under equation",
    "read/family-many-yes": "the one kind that can't be many is told by the reader",
    "read/range-downwards": "no schema compares two numbers of a list",
    "read/rule-no-last": "no schema asks that only the last item lacks a key",
}

# A day stays the text that it is in the file.
SafeConstructor.add_constructor("tag:yaml.org,2002:timestamp", SafeConstructor.construct_yaml_str)

FENCE = re.compile(r"^( {0,3})(`{3,})(\S*)[^\n]*\n(.*?)^ {0,3}\2`*[ \t]*$", re.M | re.S)
BLOCKS = ("working", "pairing", "fit-table", "sweep", "drawing")
# By the ending of a case: the schema, and where in it the shape stands.
ENDINGS = {
    "md": ("guide", ()), "reply.md": ("reply", ()), "shop.yaml": ("shop", ()), "stated.yaml": ("stated", ()),
    "bike.yaml": ("bike", ()), "chart.yaml": ("chart", ()), "shelf.yaml": ("shelf", ()),
    "formula.yaml": ("formula", ()), "own.yaml": ("formula", ()),
    "rule.yaml": ("shelf", ("properties", "rules", "items")), "family.yaml": ("shelf", ("properties", "family")),
}


def read_yaml(text):
    yaml = YAML(typ="safe", pure=True)
    yaml.version = (1, 2)
    yaml.allow_duplicate_keys = False
    return yaml.load(text)


def pieces(text, schema):
    """What of a page is YAML, each piece with its schema."""
    front = re.match(r"---\r?\n(.*?)^---\s*$", text, re.M | re.S)
    if front:
        yield schema, front.group(1)
        text = text[front.end():]
    for found in FENCE.finditer(text):
        if found.group(3) in BLOCKS:
            yield found.group(3), found.group(4)


def form_of(path):
    """The schema of a file of a library, by its place."""
    folder = path.parts[0]
    if path.name == "shop.yaml":
        return "shop"
    return {"guides": "guide", "replies": "reply", "stated": "stated", "bikes": "bike", "shelf": "shelf",
            "faults": "chart", "formulas": "formula"}.get(folder)


class Held:
    def __init__(self, folder):
        self.schemas = {}
        for path in sorted(Path(folder).glob("*.schema.json")):
            schema = json.loads(path.read_text("utf-8"))
            Draft202012Validator.check_schema(schema)
            self.schemas[path.name.removesuffix(".schema.json")] = schema

    def errors(self, name, text, way=()):
        """What a validator says of a text: `None` where it can't be read as YAML at all."""
        try:
            data = read_yaml(text)
        except (YAMLError, ValueError):
            return None
        schema = self.schemas[name]
        for step in way:
            schema = schema[step]
        validator = Draft202012Validator(schema, format_checker=Draft202012Validator.FORMAT_CHECKER)
        return [f"{'/'.join(map(str, error.absolute_path))}: {error.message[:160]}" for error in validator.iter_errors(data)]


def check_library(held, content):
    wrong, count = [], 0
    for path in sorted(p for p in content.rglob("*") if p.suffix in (".md", ".yaml")):
        below = path.relative_to(content)
        name, text = form_of(below), path.read_text("utf-8")
        if name is None:
            continue
        for schema, piece in pieces(text, name) if path.suffix == ".md" else [(name, text)]:
            count += 1
            errors = held.errors(schema, piece)
            wrong += [f"{below} ({schema}): {error}" for error in (["no YAML"] if errors is None else errors)]
    print(f"{count} files, front matters and blocks of the library are valid" if not wrong else "\n".join(wrong))
    return not wrong and count > 100


def check_mistakes(held, folder):
    wrong, refused, let = [], 0, 0
    for path in sorted(folder.glob("*/*")):
        stem, _, ending = path.name.partition(".")
        if ending not in ENDINGS:
            continue
        told = (path.parent / f"{stem}.txt").read_text("utf-8")
        ids = set(re.findall(r"^\S[^\n]*\(([a-z0-9-]+)\)$", told, re.M))
        schema, way = ENDINGS[ending]
        text = path.read_text("utf-8")
        parts = list(pieces(text, schema)) if ending.endswith("md") else [(schema, text)]
        found = [held.errors(name, piece, way) for name, piece in parts]
        if None in found:
            continue
        errors = sum(found, [])
        case = f"{path.parent.name}/{stem}"
        can = ids & REFUSED and case not in BEYOND
        if can and not errors:
            wrong.append(f"{case} is not refused: {', '.join(sorted(ids))}")
        elif errors and not ids & (REFUSED | SOME) and not any(name.startswith("yaml-") for name in ids):
            wrong.append(f"{case} is refused, and the reader takes it: {errors[0]} ({', '.join(sorted(ids))})")
        refused, let = refused + bool(errors), let + (not errors)
    print(f"{refused} mistakes are refused, {let} are beyond a schema" if not wrong else "\n".join(wrong))
    return not wrong and refused > 30


def main():
    schemas, content, mistakes = map(Path, sys.argv[1:4])
    held = Held(schemas)
    print(f"{len(held.schemas)} schemas of draft 2020-12")
    good = [len(held.schemas) >= 13, check_library(held, content), check_mistakes(held, mistakes)]
    sys.exit(not all(good))


main()
