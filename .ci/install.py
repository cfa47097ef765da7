"""Installs callout from this folder alone, with no network: `python3 install.py [FOLDER]`.

Rule of this file: Python's own library only. Nothing is installed before every file was
held against SHA256SUMS.
"""

import hashlib
import subprocess
import sys
import venv
from pathlib import Path

HERE = Path(__file__).resolve().parent
EXTRAS = "glance,pdf,plot"


def main() -> None:
    """Check, make a virtual environment, install into it, say how to begin."""
    place = Path(sys.argv[1] if len(sys.argv) > 1 else HERE / "installed").resolve()
    for line in (HERE / "SHA256SUMS").read_text(encoding="utf-8").splitlines():
        told, name = line.split("  ", 1)
        found = hashlib.sha256((HERE / name).read_bytes()).hexdigest()
        if found != told:
            raise SystemExit(f"{name} is not what was packed. Nothing was installed.")
    venv.create(place, with_pip=True)
    tools = place / ("Scripts" if sys.platform == "win32" else "bin")
    from_here = ["--no-index", "--find-links", str(HERE / "wheels")]
    pip = [str(tools / "python"), "-m", "pip", "--isolated", "install", *from_here]
    if subprocess.run([*pip, "--quiet", f"callout[{EXTRAS}]"], check=False).returncode:
        raise SystemExit("This bundle was made for another system or Python, see its name.")
    print(f"Installed. Begin with:\n  {tools / 'callout'} doctor")
    print(f"  {tools / 'callout'} run {HERE / 'checklists' / 'reedlark.yaml'}")


if __name__ == "__main__":
    main()
