"""Holds JSON to the schemas of src/schemas. Usage: validate.py SCHEMAS FILE...

A file is one document, or one a line. Which schema is meant, the document says itself, or its keys
do. The schemas allow keys that they do not know, as readers must; here such a key is a mistake, for
nobody would have told of it. Ends with a line that counts.
"""
import json
import pathlib
import sys

from jsonschema import Draft202012Validator

LINES_MOST = 400  # of one file, evenly chosen: a validator in Python takes its time

# Documents that do not name their schema, by keys that no other has.
BY_KEY = {"signals": "drawbar-print-1", "root_codes": "drawbar-inbox-upload-1",
          "root": "drawbar-inbox-finding-1"}


def close(schema):
    """The same schema, which allows no keys that it does not tell of."""
    if isinstance(schema, list):
        return [close(item) for item in schema]
    if not isinstance(schema, dict):
        return schema
    closed = {key: close(value) for key, value in schema.items()}
    if isinstance(schema.get("properties"), dict) and schema.get("type") == "object":
        closed.setdefault("additionalProperties", False)
    return closed


def validators(folder):
    made = {}
    for path in sorted(pathlib.Path(folder).glob("*.json")):
        schema = json.loads(path.read_text())
        Draft202012Validator.check_schema(schema)
        made[path.stem] = Draft202012Validator(close(schema))
    return made


def meant(document):
    if "schema" in document:
        return document["schema"].replace("/", "-")
    return next((name for key, name in BY_KEY.items() if key in document), None)


def documents(text):
    """Every document in a file; None where it is no JSON."""
    try:
        return [json.loads(text)]
    except ValueError:
        lines = text.splitlines()
        return [json.loads(line) for line in lines[::len(lines) // LINES_MOST + 1]]


def mistakes(validator, document):
    for error in validator.iter_errors(document):
        for deep in error.context or [error]:
            yield "/".join(map(str, error.absolute_path)), deep.message[:200]


def bites(validator, document):
    """Whether a key too many is refused, and some key too few."""
    def without(key):
        return {k: v for k, v in document.items() if k != key}
    return not validator.is_valid({**document, "not_told_of": 1}) and any(
        not validator.is_valid(without(key)) for key in document if key != "schema")


def main(folder, files):
    known = validators(folder)
    passed, failed, seen = 0, 0, {}
    for name in files:
        try:
            found = documents(pathlib.Path(name).read_text(encoding="utf-8"))
        except ValueError as error:
            found, failed = [], failed + 1
            print(f"not ok: {name}: no JSON: {error}")
        for document in found:
            which = meant(document)
            wrong = list(mistakes(known[which], document)) if which in known else [("", "no schema")]
            passed, failed = passed + (not wrong), failed + bool(wrong)
            for place, message in wrong[:3]:
                print(f"not ok: {name}: {which}: {place}: {message}")
            seen.setdefault(which, document)
    for name, validator in known.items():
        fine = name in seen and bites(validator, seen[name])
        passed, failed = passed + fine, failed + (not fine)
        if not fine:
            print(f"not ok: {name}: ", "accepts what it should not" if name in seen else "never used")
    print(f"{passed} passed, {failed} failed")
    return failed > 0 or passed == 0


sys.exit(main(sys.argv[1], sys.argv[2:]))
