"""Reads a batch of HL7 v2 messages from standard input with the package hl7 of
PyPI, and writes one JSON object a line for each segment, as
testdata/oracle/hl7.mjs does. Escape sequences are resolved."""

import json
import sys

import hl7

sys.stdout.reconfigure(encoding="utf-8")
for message in hl7.parse_batch(sys.stdin.buffer.read().decode("utf-8")):
    name_of_message = str(message.segment("MSH")[10])
    for segment in message:
        name = str(segment[0])
        fields = []
        for i, field in enumerate(segment):
            if name == "MSH" and i == 1:
                continue  # the delimiter of fields is no field of its own
            if isinstance(field, hl7.Field) and len(field) > 1:
                raise ValueError(f"{name}-{i} repeats")
            repetition = field[0] if isinstance(field, hl7.Field) and len(field) else field
            parts = [str(c) for c in repetition] if isinstance(repetition, hl7.Repetition) else [str(repetition)]
            raw = name == "MSH" and i == 2
            fields.append(parts if raw else ["&".join(message.unescape(s) for s in part.split("&")) for part in parts])
        print(json.dumps({"id": name_of_message, "name": name, "fields": fields}, ensure_ascii=False))
