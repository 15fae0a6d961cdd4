"""Vendored files are the published ones, byte for byte, and nothing else stands among them."""

import hashlib
import json
from pathlib import Path

VENDOR = Path(__file__).parents[2] / "static" / "vendor"
OWN = {"SHA256SUMS", "package.json", "package-lock.json"}

# SHA-256 of the files in the npm packages htmx.org 2.0.11 and
# @fontsource-variable/atkinson-hyperlegible-next 5.3.0, and of the static fonts for papers in
# @fontsource/atkinson-hyperlegible-next 5.3.0, taken from the unpacked packages.
PUBLISHED = {
    "atkinson-hyperlegible-next/LICENSE": (
        "474a034e99845062f661855caaa505880d0e9009deddc2727a92795eab374955"
    ),
    "atkinson-hyperlegible-next/atkinson-hyperlegible-next-latin-wght-italic.woff2": (
        "4a5037bfaf6680f40147407407ec09fa42925774bde809a579283d27f9f08106"
    ),
    "atkinson-hyperlegible-next/atkinson-hyperlegible-next-latin-wght-normal.woff2": (
        "18b2a1a39a2fa298b0ba5390aca68462669826c90925656f1c1f6796e0e1bbaf"
    ),
    "atkinson-hyperlegible-next-static/LICENSE": (
        "474a034e99845062f661855caaa505880d0e9009deddc2727a92795eab374955"
    ),
    "atkinson-hyperlegible-next-static/atkinson-hyperlegible-next-latin-400-italic.woff2": (
        "59bc0e965694b9409ac2684c6c8d08994f4fee8a474bc63c4653714f8f441435"
    ),
    "atkinson-hyperlegible-next-static/atkinson-hyperlegible-next-latin-400-normal.woff2": (
        "5cb240a4d99ab7e6fc3a4d4e6d11d89789fdffe9c86a8384000d662c53283f6f"
    ),
    "atkinson-hyperlegible-next-static/atkinson-hyperlegible-next-latin-700-normal.woff2": (
        "0dbe07ed7679407db9d90f747d5ca3bd1b2bb7ccbcbe41c8246cfc6d2c7bc3bc"
    ),
    "htmx.org/LICENSE": "d3d2456f76414f2456104660ebd65aff1c04cd7966b942bdabd63f3cdb316a38",
    "htmx.org/htmx.min.js": "d6fdc75f204e6bdefa99b69bf1e6d4ac69b8a364f77929f45c13476b4000f717",
}


def sums(root: Path) -> dict[str, str]:
    files = (path for path in root.rglob("*") if path.is_file())
    named = {path.relative_to(root).as_posix(): path for path in files}
    return {
        name: hashlib.sha256(path.read_bytes()).hexdigest()
        for name, path in named.items()
        if name not in OWN
    }


def test_files_are_the_published_ones() -> None:
    assert sums(VENDOR) == PUBLISHED


def test_a_changed_byte_is_seen(tmp_path: Path) -> None:
    for name in PUBLISHED:
        copy = tmp_path / name
        copy.parent.mkdir(exist_ok=True)
        copy.write_bytes((VENDOR / name).read_bytes())
    assert sums(tmp_path) == PUBLISHED
    with (tmp_path / "htmx.org" / "htmx.min.js").open("ab") as script:
        script.write(b" ")
    assert sums(tmp_path) != PUBLISHED


def test_the_sums_beside_the_files_agree() -> None:
    lines = (VENDOR / "SHA256SUMS").read_text(encoding="ascii").splitlines()
    assert {line.split("  ")[1]: line.split("  ")[0] for line in lines} == PUBLISHED


def test_lock_pins_what_the_manifest_names_and_no_registry() -> None:
    manifest = json.loads((VENDOR / "package.json").read_text(encoding="utf-8"))
    lock_text = (VENDOR / "package-lock.json").read_text(encoding="utf-8")
    packages = json.loads(lock_text)["packages"]
    locked = {name: packages[f"node_modules/{name}"] for name in manifest["dependencies"]}
    assert {name: entry["version"] for name, entry in locked.items()} == manifest["dependencies"]
    assert all(entry["integrity"].startswith("sha512-") for entry in locked.values())
    assert "://" not in lock_text
