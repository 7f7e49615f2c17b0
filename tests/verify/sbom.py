"""Reads a bill of materials with the schema of CycloneDX and checks what a schema cannot say.

Outside sources: the JSON schema of CycloneDX 1.6 as `cyclonedx-python-lib` ships it, `license-expression` for the list
of SPDX, `packageurl-python` for package URLs. What must be in it is read from the lock files with Python's own readers.
"""

import base64
import json
import sys
import tomllib
from pathlib import Path

from cyclonedx.schema import SchemaVersion
from cyclonedx.validation.json import JsonStrictValidator
from license_expression import get_spdx_licensing
from packageurl import PackageURL

ROOT = Path(__file__).resolve().parents[2]


def faults(text):
    fault = JsonStrictValidator(SchemaVersion.V1_6).validate_str(text)
    if fault is not None:
        yield f"schema: {fault}"
        return
    bom = json.loads(text)
    components = bom["components"]
    known = {it["bom-ref"] for it in components} | {bom["metadata"]["component"]["bom-ref"]}
    if len(known) != len(components) + 1:
        yield "a reference is there twice"
    licensing = get_spdx_licensing()
    for it in components:
        for licence in it["licenses"]:
            wrong = licensing.validate(licence["expression"]).errors
            if wrong:
                yield f"{it['bom-ref']}: {wrong}"
        if "purl" in it:
            url = PackageURL.from_string(it["purl"])
            name = f"{url.namespace}/{url.name}" if url.namespace else url.name
            if (name, url.version) != (it["name"], it["version"]):
                yield f"{it['purl']} is {name} {url.version}"
    needs = {it["ref"]: set(it.get("dependsOn", [])) for it in bom["dependencies"]}
    for name, others in needs.items():
        for other in others - known:
            yield f"{name} needs {other}, which is not there"

    # Each crate and package that is there is locked with this hash; each package of npm that is locked is there.
    crates = tomllib.loads((ROOT / "Cargo.lock").read_text())["package"]
    locked = {("cargo", it["name"], it["version"]): it.get("checksum") for it in crates}
    packages = json.loads((ROOT / "ui/package-lock.json").read_text())["packages"]
    for place, it in packages.items():
        if place:
            digits = base64.b64decode(it["integrity"].removeprefix("sha512-")).hex()
            locked["npm", place.rsplit("node_modules/", 1)[1], it["version"]] = digits
    seen = set()
    for it in components:
        kind = it.get("purl", "").removeprefix("pkg:").split("/")[0]
        if kind in ("cargo", "npm"):
            key = (kind, it["name"], it["version"])
            seen.add(key)
            digits = [hash["content"] for hash in it.get("hashes", [])]
            if digits != [locked.get(key)]:
                yield f"{it['bom-ref']}: hash {digits}, locked {locked.get(key)}"
    for key in locked.keys() - seen:
        if key[0] == "npm":
            yield f"{key} is locked and not there"
    # What every build of this program must have.
    required = {it["name"] for it in components if it["scope"] == "required"}
    for name in ("sqlite", "rusqlite", "tauri", "svelte", "@tauri-apps/api", "libloading", "landlock"):
        if name not in required:
            yield f"{name} is not required"
    for name in ("vitest", "proptest", "divan", "fantoccini", "syn"):
        if name in required:
            yield f"{name} is in no program"


def main():
    text = Path(sys.argv[1]).read_text()
    found = list(faults(text))
    bom = json.loads(text)
    required = sum(it["scope"] == "required" for it in bom["components"])
    print(f"sbom: {len(bom['components'])} components, {required} in programs; {len(found)} faults")
    for fault in found:
        print(f"  {fault}")
    sys.exit(1 if found else 0)


if __name__ == "__main__":
    main()
