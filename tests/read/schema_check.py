#!/usr/bin/env python3
"""Validates room files with an independent JSON Schema implementation (python3-jsonschema, python3-yaml).

Every scenario's room.yaml must satisfy docs/room.schema.json, and the bad inputs whose fault a schema can see
must not. Status 0 = agreed, 1 = not, 77 = the libraries are not installed (test.sh installs them).
"""
import pathlib
import sys

try:
    import jsonschema
    import yaml
except ImportError:
    sys.exit(77)
import json

ROOT = pathlib.Path(__file__).resolve().parents[2]


class Loader(yaml.SafeLoader):
    """YAML 1.2 as editors read it: dates and 06:00 stay text; yes/no stay words."""


Loader.yaml_implicit_resolvers = {
    first: [(tag, rule) for tag, rule in rules
            if tag not in ("tag:yaml.org,2002:timestamp", "tag:yaml.org,2002:bool")]
    for first, rules in yaml.SafeLoader.yaml_implicit_resolvers.items()
}

# Reader codes whose fault lies in one key or value of room.yaml.
VISIBLE = ("unknown-key", "key-missing", "wrong-kind", "unit-missing", "unknown-word",
           "unknown-step", "value-missing")


def changed_room(case):
    """The room.yaml of a case, and the codes that the reader gives for it."""
    text = (ROOT / "tests/bad_input/good/room.yaml").read_text(encoding="utf-8")
    file, find, codes = None, None, []
    for line in case.read_text(encoding="utf-8").splitlines():
        word, _, rest = line.partition(": ")
        rest_text = rest.replace("\\n", "\n").replace("\\t", "\t")
        if word == "file":
            file = rest
        elif word == "find":
            find = rest_text
        elif word == "put" and file == "room.yaml":
            text = text.replace(find, rest_text, 1) if find else rest_text
            find = None
        elif word == "put":
            find = None
        elif word == "expect" and rest.startswith("room.yaml"):
            codes.append(rest.rstrip(")").rsplit("(", 1)[1])
    return text, codes


def main():
    schema = json.loads((ROOT / "docs/room.schema.json").read_text(encoding="utf-8"))
    jsonschema.Draft7Validator.check_schema(schema)
    validator = jsonschema.Draft7Validator(schema)
    wrong = []
    good = sorted(ROOT.glob("scenarios/*/room.yaml")) + [ROOT / "tests/bad_input/good/room.yaml"]
    for path in good:
        for error in validator.iter_errors(yaml.load(path.read_text(encoding="utf-8"), Loader)):
            wrong.append(f"{path.relative_to(ROOT)}: {list(error.absolute_path)}: {error.message[:200]}")
    seen = 0
    for case in sorted((ROOT / "tests/bad_input").glob("*.case")):
        text, codes = changed_room(case)
        if not any(code in VISIBLE for code in codes):
            continue
        seen += 1
        if validator.is_valid(yaml.load(text, Loader)):
            wrong.append(f"{case.name}: the reader refuses it ({', '.join(codes)}), the schema does not")
    print(f"{len(good)} room files valid, {seen} bad ones refused" if not wrong else "\n".join(wrong))
    return 1 if wrong or seen < 10 else 0


sys.exit(main())
