"""What all files of cases share: random tables, rounding, writing."""

import json
import math
from importlib.metadata import version
from pathlib import Path

import numpy as np

# Digits that are frozen: a few fewer than a double holds, so that another machine writes the same text.
DIGITS = 12


def rng(name):
    """Random numbers that are the same in every run, different for every file."""
    return np.random.default_rng([2027, *name.encode()])


def tools(*names):
    """Names and versions of the libraries that answered."""
    return ", ".join(f"{name} {version(name)}" for name in names)


def frozen(value):
    """A value as it is written down."""
    if isinstance(value, dict):
        return {key: frozen(part) for key, part in value.items()}
    if isinstance(value, (list, tuple, np.ndarray)):
        return [frozen(part) for part in value]
    if isinstance(value, (bool, str)) or value is None:
        return value
    if isinstance(value, (int, np.integer)):
        return int(value)
    value = float(value)
    if math.isinf(value):
        return "Infinity" if value > 0 else "-Infinity"
    if math.isnan(value):
        raise ValueError("not a number in what was to be frozen")
    return float(f"{value:.{DIGITS}g}")


def file(method, source, tolerance, cases, notes="", kind="library"):
    """One file of cases; every case is (name, input, expected) with its own source or remarks after that."""
    rows = []
    for name, given, expected, *more in cases:
        row = {"name": name, "input": frozen(given), "expected": frozen(expected)}
        for part in more:
            row.update(frozen(part))
        rows.append(row)
    return {
        "method": method,
        "source": source,
        "source_kind": kind,
        "made_by": "cargo xtask outside",
        "tolerance": tolerance,
        "notes": notes,
        "cases": rows,
    }


def write(path, content):
    """Writes a file with one case a line, so that changes can be read."""
    head = {key: value for key, value in content.items() if key != "cases"}
    lines = [f"  {json.dumps(key)}: {json.dumps(value, ensure_ascii=False)}," for key, value in head.items()]
    cases = [f"    {json.dumps(case, ensure_ascii=False)}" for case in content["cases"]]
    text = "\n".join(["{", *lines, '  "cases": [', ",\n".join(cases), "  ]", "}"]) + "\n"
    Path(path).write_text(text, encoding="utf-8")


def close(a, b, slack, what):
    """Two tools have to agree before anything is frozen."""
    if not abs(a - b) <= slack * max(1.0, abs(b)):
        raise SystemExit(f"{what}: two tools disagree: {a!r} and {b!r}; nothing is frozen")
