"""The keys that a schema tells of, one a line. Usage: keys.py SCHEMA [top]

With `top` only those of the document itself, else also those of what is inside.
"""
import json
import pathlib
import sys


def objects(schema, top):
    if isinstance(schema, dict):
        if isinstance(schema.get("properties"), dict):
            yield schema["properties"]
            if top:
                return
        for value in schema.values():
            yield from objects(value, top)


schema = json.loads(pathlib.Path(sys.argv[1]).read_text())
found = objects(schema["$defs"]["report"] if "if" in schema else schema, len(sys.argv) > 2)
names = set(next(found)) if len(sys.argv) > 2 else {name for item in found for name in item}
print("\n".join(sorted(names)))
