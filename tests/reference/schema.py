"""Validates YAML files against JSON Schemas with the `jsonschema` package.

stdin: {"schemas": {name: schema}, "files": [{"schema": name, "path": path}]}; stdout: for each file,
for each of its documents, whether it is valid and the first message where not.
"""

import json
import sys

import jsonschema
import yaml


class Words(yaml.SafeLoader):
    """Every single value as the text that it is, as pourwright reads it."""


Words.yaml_implicit_resolvers = {}


def documents(path):
    with open(path, encoding="utf-8") as file:
        return [d for d in yaml.load_all(file, Loader=Words) if d not in (None, "")]


def main():
    asked = json.load(sys.stdin)
    validators = {}
    for name, schema in asked["schemas"].items():
        jsonschema.Draft202012Validator.check_schema(schema)
        validators[name] = jsonschema.Draft202012Validator(schema)
    told = []
    for file in asked["files"]:
        validator = validators[file["schema"]]
        try:
            found = [next(validator.iter_errors(d), None) for d in documents(file["path"])]
        except (yaml.YAMLError, UnicodeDecodeError) as error:
            told.append({"unread": str(error)})
            continue
        told.append({"faults": [f"{e.json_path}: {e.message[:200]}" if e else None for e in found]})
    json.dump(told, sys.stdout)


main()
