"""``python -m tests.supply.advisories``: what PyPI knows against the newest release of every package that is pinned.

For where only PyPI itself can be asked: it tells the advisories of a project's newest release (PyPI's JSON API,
"vulnerabilities"). A pin that is older is named, and has to be looked up with pip-audit.
"""

from __future__ import annotations

import json
import re
import sys
import urllib.request
from pathlib import Path

PINS = Path(__file__).parents[2] / ".ci" / "constraints.txt"


def main() -> int:
    pins = re.findall(r"^([\w.-]+)==([^\s;]+)", PINS.read_text(encoding="utf-8"), re.MULTILINE)
    older, known = [], []
    for name, version in pins:
        with urllib.request.urlopen(f"https://pypi.org/pypi/{name}/json", timeout=30) as answer:
            told = json.load(answer)
        newest = told["info"]["version"]
        known += [f"{name} {newest}: {one['id']}" for one in told["vulnerabilities"]]
        if newest != version:
            older.append(f"{name} {version} (newest: {newest})")
    sys.stdout.write(f"{len(pins)} packages, {len(pins) - len(older)} pinned at their newest release\n")
    sys.stdout.writelines(f"older: {one}\n" for one in older)
    sys.stdout.writelines(f"advisory: {one}\n" for one in known)
    return bool(known)


if __name__ == "__main__":
    sys.exit(main())
