"""Packs everything that callout needs into one archive: `make bundle`.

Rule of this file: wheels come by the pinned hashes and by nothing else. The archive holds
them (the model is in callout's, the voice in hibari's), the examples, a recorded day, and
install.py, and is for the system and Python that it was made with.
"""

from __future__ import annotations

import hashlib
import shutil
import subprocess
import sys
import sysconfig
import tarfile
from pathlib import Path

TOP = Path(__file__).resolve().parents[1]
OUT = TOP / "out"
TAKEN = {
    "checklists": "checklists",
    "README.md": "README.md",
    "LICENSE": "LICENSE",
    ".ci/licences.md": "licences.md",
    ".ci/install.py": "install.py",
    "tests/session/flying-day.opus": "flying-day.opus",
}
"""What it is here -> in the bundle."""


def main() -> None:
    """Make it, and say where it is and how large."""
    sys.path.insert(0, str(TOP))
    from callout import __version__

    system = sysconfig.get_platform().replace("-", "_").replace(".", "_")
    name = f"callout-{__version__}-cp{sys.version_info.major}{sys.version_info.minor}-{system}"
    folder = OUT / name
    shutil.rmtree(folder, ignore_errors=True)
    wheels = folder / "wheels"
    pip = [sys.executable, "-m", "pip", "wheel", "--quiet", "--wheel-dir", str(wheels)]
    subprocess.run([*pip, "--require-hashes", "-r", str(TOP / ".ci/pinned.txt")], check=True)
    subprocess.run([*pip, "--no-deps", str(TOP)], check=True)
    for source, target in TAKEN.items():
        copy = shutil.copytree if (TOP / source).is_dir() else shutil.copy
        copy(TOP / source, folder / target)
    _sums(folder)
    archive = OUT / f"{name}.tar.gz"
    with tarfile.open(archive, "w:gz", compresslevel=1) as packed:  # wheels are packed already
        packed.add(folder, arcname=name)
    print(f"{archive}: {archive.stat().st_size / 1e6:.0f} MB, {len(list(wheels.iterdir()))} wheels")


def _sums(folder: Path) -> None:
    """In the form of sha256sum (GNU coreutils), so that `sha256sum -c` reads it, too."""
    files = sorted(path for path in folder.rglob("*") if path.is_file())
    lines = (
        f"{hashlib.sha256(path.read_bytes()).hexdigest()}  {path.relative_to(folder).as_posix()}"
        for path in files
    )
    (folder / "SHA256SUMS").write_text("".join(f"{line}\n" for line in lines), encoding="utf-8")


if __name__ == "__main__":
    main()
