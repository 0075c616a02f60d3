"""What run.py and test.py share about this machine: the environment in `.venv` and Debian's packages."""

import hashlib
import importlib.util
import os
import shutil
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

# An older Python is told so in a sentence, before it meets syntax that it does not know.
if sys.version_info < (3, 11):  # noqa: UP036 - see above
    sys.exit(f"Ebbwright needs Python 3.11 or newer; this is {sys.version.split()[0]}.")

CHECKOUT = Path(__file__).resolve().parent.parent
VENV = CHECKOUT / ".venv"
PYTHON = VENV / "bin" / "python"
SITE_PACKAGES = VENV / "lib" / f"python{sys.version_info.major}.{sys.version_info.minor}" / "site-packages"


def say(sentence: str) -> None:
    """Print at once, also into a pipe."""
    print(sentence, flush=True)


def environment(requirements: str) -> None:
    """Make `.venv` hold deploy/<requirements>.txt, unless it already does; exits when it cannot."""
    wanted = CHECKOUT / "deploy" / f"{requirements}.txt"
    digest = hashlib.sha256(wanted.read_bytes()).hexdigest()
    stamp = VENV / f"{requirements}.sha256"
    # pip's INSTALLER file comes after the last of pip's own: an interrupted `.venv` lacks it and is made again.
    usable = PYTHON.exists() and any(SITE_PACKAGES.glob("pip-*.dist-info/INSTALLER"))
    if usable and stamp.is_file() and stamp.read_text() == digest:
        return
    say(f"Installing {wanted.relative_to(CHECKOUT)} into .venv (again only when that file changes) ...")
    if not usable:
        make_venv()
    install(wanted)
    stamp.write_text(digest)


def make_venv() -> None:
    """Make an empty `.venv`; as root on Debian it first installs what Debian splits off from Python."""
    if importlib.util.find_spec("ensurepip") is None and not apt_install("python3-venv"):
        sys.exit(
            "This Python cannot make a virtual environment: have an administrator run "
            "`apt-get install python3-venv`, then start again."
        )
    problem = failure([sys.executable, "-m", "venv", "--clear", VENV])
    if problem:
        sys.exit(f"{VENV} could not be made:\n{problem}")


def install(wanted: Path) -> None:
    """Install hash-checked wheels: by uv where it can be had, as it is faster, else by pip."""
    pip: list[str | Path] = [PYTHON, "-m", "pip", "install", "--quiet", "--disable-pip-version-check"]
    uv: list[str | Path] = [PYTHON, "-m", "uv", "pip", "install", "--quiet", "--python", PYTHON]
    strict = ["--require-hashes", "--only-binary", ":all:", "--requirement"]
    installer = CHECKOUT / "deploy" / "requirements-installer.txt"
    problem = failure([*pip, *strict, installer]) or failure([*uv, *strict, wanted])
    if problem:
        say("The fast installer does not work here; installing with pip ...")
        problem = failure([*pip, *strict, wanted])
    if problem:
        sys.exit(f"{wanted.name} could not be installed:\n{problem}")


def apt_install(package: str) -> bool:
    """Install a Debian package if we are root on a Debian; False when that is not possible."""
    if os.geteuid() != 0 or shutil.which("apt-get") is None:
        return False
    say(f"Installing Debian's {package} ...")
    env = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    for command in (["update"], ["install", "--yes", "--no-install-recommends", package]):
        problem = failure(["apt-get", "-q", *command], env=env)
        if problem:
            say(problem)
            return False
    return True


def failure(command: Sequence[str | Path], env: dict[str, str] | None = None) -> str:
    """Run a command quietly; an empty string when it succeeded, else what it printed."""
    done = subprocess.run(
        command,
        env=env,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        errors="replace",
    )
    return "" if done.returncode == 0 else done.stdout.strip() or f"exit code {done.returncode}"
