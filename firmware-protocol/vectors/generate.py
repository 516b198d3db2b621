#!/usr/bin/env python3
"""Writes accepted.json, rejected.json, forgetting.json and log-files.json beside this file. Python 3, standard library only:

    python3 -B firmware-protocol/vectors/generate.py

Shares no code with the codec it tests. Each vector names the clauses of SPEC.md that it shows.
"""
import json
import pathlib

from book import accepted, rejected
from downlink_vectors import certificate_fields, command_fields, plan_fields, receipt_fields
from encoding_vectors import encoding, envelope
from event_vectors import (
    notice_fields,
    optional_fields,
    power_fields,
    prompt_fields,
    relay_fields,
    renewal_fields,
    result_fields,
    self_test_fields,
)
from forgetting import cases, forgetting
from log_files import log_files, logs
from uplink_vectors import fault_fields, frame_fields, hello_fields, minutes_fields, relief_fields


def write(name, vectors):
    names = [vector["name"] for vector in vectors]
    twice = {name for name in names if names.count(name) > 1}
    assert not twice, twice
    lines = ",\n".join(json.dumps(vector, ensure_ascii=False) for vector in vectors)
    pathlib.Path(__file__).with_name(name).write_text(f"[\n{lines}\n]\n", encoding="utf-8")


for part in (
    encoding,
    envelope,
    hello_fields,
    minutes_fields,
    relief_fields,
    frame_fields,
    fault_fields,
    power_fields,
    relay_fields,
    self_test_fields,
    prompt_fields,
    notice_fields,
    result_fields,
    renewal_fields,
    optional_fields,
    receipt_fields,
    plan_fields,
    command_fields,
    certificate_fields,
):
    part()
write("accepted.json", accepted)
write("rejected.json", rejected)
cases()
write("forgetting.json", forgetting)
logs()
write("log-files.json", log_files)
print(f"{len(accepted)} accepted, {len(rejected)} rejected, {len(forgetting)} of forgetting, {len(log_files)} log files")
